"""Find coordinates that are missing, impossible, exchanged, or of the wrong sign."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from statistics import median_low

from routing.files.operation.zone_places import standard_offset_h, zone_place
from routing.files.problems.problems import Problems
from routing.files.tables.records import Record, Records

EARTH_RADIUS_KM = 6371.0088
OUTLIER_KM = 300.0
FAR_FROM_DEPOTS_KM = 500.0
FAR_FROM_ZONE_KM = 2500.0
HOURS_OFF_SUN = 1.75
"""Clocks run further from the sun in western China and western Alaska (IANA zones, longitudes of cities)."""

LatLon = tuple[float, float]


@dataclass(frozen=True)
class _Place:
    records: Records
    record: Record
    at: LatLon

    def complain(
        self, problems: Problems, code: str, wrong: str, remedy: str, severity: str = "error"
    ) -> None:
        self.records.complain(problems, code, self.record, "lat", wrong, remedy, severity)


def distance_km(a: LatLon, b: LatLon) -> float:
    """Great-circle distance; good to half a percent, which is plenty to notice a slip."""
    lat1, lon1, lat2, lon2 = (math.radians(x) for x in (*a, *b))
    h = math.sin((lat2 - lat1) / 2) ** 2
    h += math.cos(lat1) * math.cos(lat2) * math.sin((lon2 - lon1) / 2) ** 2
    return 2 * EARTH_RADIUS_KM * math.asin(min(1.0, math.sqrt(h)))


def check_coordinates(tables: Mapping[str, Records], timezone: str | None, problems: Problems) -> None:
    """Judge every place by itself, then against the others, then all of them against the time zone."""
    places = [
        _Place(tables[name], record, (record.get("lat"), record.get("lon")))
        for name in ("depots", "yards")
        for record in tables[name]
        if record.get("lat") is not None and record.get("lon") is not None
    ]
    possible = [place for place in places if _possible(place, problems)]
    if not possible:
        return
    middle = _middle(possible)
    fitting = [place for place in possible if _fits(place, middle, problems)]
    if _zone_fits(possible, middle, timezone, problems):
        _check_reach(fitting, problems)


def _possible(place: _Place, problems: Problems) -> bool:
    lat, lon = place.at
    if abs(lat) < 1e-3 and abs(lon) < 1e-3:
        place.complain(
            problems, "coordinates_zero", "the place lies at 0,0, in the sea", "fill in lat and lon"
        )
        return False
    if 90 < abs(lat) <= 180 and abs(lon) <= 90:
        place.complain(
            problems,
            "coordinates_swapped",
            "a latitude is at most 90: lat and lon look exchanged",
            f"write lat {lon:g} and lon {lat:g}",
        )
        return False
    if abs(lat) > 90 or abs(lon) > 180:
        field, most = ("lat", 90) if abs(lat) > 90 else ("lon", 180)
        place.records.complain(
            problems,
            "coordinates_range",
            place.record,
            field,
            f"{field} is -{most} to {most} degrees",
            "write degrees with a decimal point, south and west negative",
        )
        return False
    return True


def _middle(places: list[_Place]) -> LatLon:
    # Of two places neither is in the middle: trust the depot, which comes first.
    if len(places) < 3:
        return places[0].at
    return median_low([p.at[0] for p in places]), median_low([p.at[1] for p in places])


def _fits(place: _Place, middle: LatLon, problems: Problems) -> bool:
    lat, lon = place.at
    away = distance_km(place.at, middle)
    if away < OUTLIER_KM:
        return True
    if abs(lon) <= 90 and distance_km((lon, lat), middle) < away / 5:
        place.complain(
            problems,
            "coordinates_swapped",
            f"{away:,.0f} km from the other places, near them with lat and lon exchanged",
            f"write lat {lon:g} and lon {lat:g}",
        )
        return False
    for other in ((lat, -lon), (-lat, lon), (-lat, -lon)):
        if distance_km(other, middle) < away / 5:
            place.complain(
                problems,
                "coordinate_sign",
                f"{away:,.0f} km from the other places, near them with the other sign",
                f"write lat {other[0]:g} and lon {other[1]:g}: south and west are negative",
            )
            return False
    for other in _points_moved(place.at):
        if distance_km(other, middle) < OUTLIER_KM:
            place.complain(
                problems,
                "coordinate_point",
                f"{away:,.0f} km from the other places, near them with the decimal point elsewhere",
                f"write lat {other[0]:g} and lon {other[1]:g}",
            )
            return False
    return True


def _points_moved(at: LatLon) -> Iterator[LatLon]:
    """The place with the decimal point of one or both coordinates moved by one or two digits."""
    lats, lons = ([x, *(x * f for f in (10, 0.1, 100, 0.01))] for x in at)
    for lat in lats:
        for lon in lons:
            if abs(lat) <= 90 and abs(lon) <= 180:
                yield round(lat, 7), round(lon, 7)


def _sun_fits(places: list[_Place], middle: LatLon, timezone: str, problems: Problems) -> None:
    """Whether the clock of the zone is near the sun of the places."""
    offset_h = standard_offset_h(timezone)
    off = (offset_h - middle[1] / 15 + 12) % 24 - 12
    if abs(off) > HOURS_OFF_SUN:
        places[0].complain(
            problems,
            "zone_off_sun",
            f"the clock of {timezone} is {abs(off):.1f} h off the sun at the places",
            "correct operation.timezone, or the coordinates",
            "warning",
        )


def _zone_fits(places: list[_Place], middle: LatLon, timezone: str | None, problems: Problems) -> bool:
    zone = zone_place(timezone or "")
    if zone is None or (away := distance_km(middle, zone)) < FAR_FROM_ZONE_KM:
        if timezone:
            _sun_fits(places, middle, timezone, problems)
        return True
    lat, lon = middle
    others = [("coordinates_swapped", (lon, lat), "lat and lon exchanged")] if abs(lon) <= 90 else []
    others += [
        ("coordinate_sign", (a, b), "the other sign") for a, b in ((lat, -lon), (-lat, lon), (-lat, -lon))
    ]
    for code, other, how in others:
        if distance_km(other, zone) < min(FAR_FROM_ZONE_KM, away / 2):
            places[0].complain(
                problems,
                code,
                f"the places lie {away:,.0f} km from {timezone}, and would lie near it with {how}",
                "correct lat and lon of all places, or the time zone",
            )
            return False
    places[0].complain(
        problems,
        "far_from_timezone",
        f"the places lie {away:,.0f} km from {timezone}",
        "check the coordinates and operation.timezone",
        "warning",
    )
    return True


def _check_reach(places: list[_Place], problems: Problems) -> None:
    depots = [place.at for place in places if place.records.table.name == "depots"]
    yards = [place.at for place in places if place.records.table.name == "yards"]
    for place in places:
        if yards and place.records.table.name == "depots":
            near = min(distance_km(place.at, yard) for yard in yards)
            if near > FAR_FROM_DEPOTS_KM:
                place.complain(
                    problems,
                    "far_from_yards",
                    f"the depot lies {near:,.0f} km in a straight line from the nearest yard",
                    "correct lat and lon, or remove the depot",
                )
        if depots and place.records.table.name == "yards":
            near = min(distance_km(place.at, depot) for depot in depots)
            if near > FAR_FROM_DEPOTS_KM:
                place.complain(
                    problems,
                    "far_from_depots",
                    f"{near:,.0f} km in a straight line from the nearest depot",
                    "check lat and lon",
                    "warning",
                )
