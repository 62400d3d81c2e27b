"""Speak the interface of a Valhalla server: tables and lines, with the mass and size of each truck."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, NoReturn

import numpy as np

from routing.domain.errors import FeedroundError
from routing.domain.fleet import Truck
from routing.domain.units import M_PER_KM
from routing.travel.server.http import Asker, ServerError
from routing.travel.server.tables import Block, Floats, Spots, read_table
from routing.travel.straight.geodesic import geodesics_m

PLACES_AT_ONCE = 50
"""50 x 50 pairs: Valhalla takes 2,500 in one table by default (``max_matrix_location_pairs``)."""

TOO_MANY = frozenset({"150", "151", "153"})
"""Valhalla's codes for too many locations, too many pairs; 154, too far, may pass with fewer places."""

NEAREST_M = 5_000
"""Roads are looked for so far from a place; Valhalla's own default is 35 km."""

USE_TRACKS = 0.5
"""Farm tracks are neither shunned nor sought; Valhalla's default for trucks is 0."""

LENGTH_M, HEIGHT_M, WIDTH_M, AXLES = 9.0, 3.5, 2.55, 2
"""A farm truck where the fleet does not say; estimate. Valhalla's defaults are an articulated lorry's."""


@dataclass(frozen=True)
class ValhallaServer:
    """A server that speaks Valhalla. Trucks of different mass or size have tables of their own."""

    asker: Asker
    profile: str = ""

    @property
    def costing(self) -> str:
        """The costing model asked for."""
        return self.profile or "truck"

    @property
    def note(self) -> str:
        """What a reader must know of its figures."""
        if self.costing != "truck":
            return f'Valhalla interface, costing "{self.costing}"; the same for all trucks'
        return (
            "Valhalla interface, costing truck; limits of mass are held against the legal gross of each "
            "truck, loaded or not, those of size against what the fleet says or else a middling farm truck"
        )

    def truck_key(self, truck: Truck) -> str:
        """Trucks of the same key have the same table."""
        return repr(sorted(self._options(truck).items()))

    def at_once(self, n: int) -> int:
        """How many sources, and as many targets, to ask for at once out of n places."""
        return min(n, PLACES_AT_ONCE)

    def too_many(self, error: FeedroundError) -> bool:
        """Whether an error means that fewer places should be asked for at once."""
        return isinstance(error, ServerError) and error.code in TOO_MANY

    def fault(self, text: str) -> FeedroundError:
        """The error to raise when an answer cannot be used."""
        return self.asker.fault(text)

    def moved_m(self, spots: Spots, truck: Truck) -> Floats | None:
        """Metres from each place to the road it is put on, NaN where there is none near; None: not told."""
        found: list[Any] = []
        for top in range(0, len(spots), PLACES_AT_ONCE):
            some = [_location(spot) for spot in spots[top : top + PLACES_AT_ONCE]]
            question = {"locations": some, "verbose": False, **self._costing(truck)}
            try:
                answer = self.asker.post("/locate", question)
            except ServerError as error:
                # A server may offer tables and nothing else; one that is down says so again.
                if error.passing:
                    raise
                return None
            if not isinstance(answer, list) or len(answer) != len(some):
                return None
            found += answer
        return np.array([_moved_m(spot, told) for spot, told in zip(spots, found, strict=True)])

    def block(self, spots: Spots, sources: range, targets: range, truck: Truck) -> Block:
        """Part of a table. Raises ServerError."""
        question = {
            "sources": [_location(spots[k]) for k in sources],
            "targets": [_location(spots[k]) for k in targets],
            "verbose": False,
            **self._costing(truck),
        }
        answer = self._ask("/sources_to_targets", question, "sources_to_targets")
        distance_km, duration_s = self._tables(answer["sources_to_targets"], (len(sources), len(targets)))
        return Block(distance_km * self._unit_m(answer), duration_s)

    def line(
        self, a: tuple[float, float], b: tuple[float, float], truck: Truck
    ) -> tuple[tuple[float, float], ...]:
        """The line of (lon, lat) that is driven. Raises ServerError."""
        question = {
            "locations": [_location(a), _location(b)],
            "directions_type": "none",
            **self._costing(truck),
        }
        trip = self._ask("/route", question, "trip")["trip"]
        try:
            return tuple(point for leg in trip["legs"] for point in decode_polyline(leg["shape"]))
        except (KeyError, TypeError, ValueError, IndexError) as error:
            raise self.asker.fault("its route has no line to draw") from error

    def _options(self, truck: Truck) -> dict[str, float]:
        if self.costing != "truck":
            return {}
        tons = round(truck.gvwr_kg / 1000, 3)
        return {
            "weight": tons,
            "axle_load": round((truck.axle_kg or truck.gvwr_kg) / 1000, 3),
            "axle_count": AXLES,
            "length": truck.length_m or LENGTH_M,
            "height": truck.height_m or HEIGHT_M,
            "width": truck.width_m or WIDTH_M,
            "use_tracks": USE_TRACKS,
        }

    def _costing(self, truck: Truck) -> dict[str, Any]:
        options = self._options(truck)
        more = {"costing_options": {self.costing: options}} if options else {}
        return {"costing": self.costing, "units": "kilometers", **more}

    def _ask(self, path: str, question: dict[str, Any], wanted: str) -> dict[str, Any]:
        answer = self.asker.post(path, question)
        if isinstance(answer, dict) and ("error_code" in answer or "error" in answer):
            self._refused(str(answer.get("error_code") or ""), str(answer.get("error") or "")[:200])
        if not isinstance(answer, dict) or wanted not in answer:
            raise self.asker.fault("its answer is not of the Valhalla interface: is server_kind right?")
        return answer

    def _refused(self, code: str, message: str) -> NoReturn:
        told = {
            "106": "it offers no such service",
            "170": "the roads near the places are not connected",
            "171": f"it finds no road within {NEAREST_M / M_PER_KM:g} km of a place: does its map cover all "
            "yards and depots?",
            "442": "it finds no way between places",
            "154": "places are farther apart than it allows (its service_limits)",
        }
        text = told.get(code, "it refuses the question")
        raise self.asker.fault(f"{text} ({message})" if message else text, code)

    def _tables(self, found: Any, shape: tuple[int, int]) -> tuple[Floats, Floats]:
        """Distances and durations, of the compact answer or of the older one with an object a pair."""
        if isinstance(found, dict):
            rows, times = found.get("distances"), found.get("durations")
        elif isinstance(found, list) and all(isinstance(row, list) for row in found):
            rows = [[_of(pair, "distance") for pair in row] for row in found]
            times = [[_of(pair, "time") for pair in row] for row in found]
        else:
            rows = times = None
        fault = self.fault
        return read_table(rows, shape, "distances", fault), read_table(times, shape, "durations", fault)

    def _unit_m(self, answer: dict[str, Any]) -> float:
        if answer.get("units", "kilometers") not in ("kilometers", "km"):
            raise self.asker.fault("it answers in another unit than the kilometres asked for")
        return float(M_PER_KM)


def _location(spot: tuple[float, float]) -> dict[str, float]:
    return {"lat": round(spot[1], 6), "lon": round(spot[0], 6), "search_cutoff": NEAREST_M}


def _moved_m(spot: tuple[float, float], told: Any) -> float:
    edges = told.get("edges") if isinstance(told, dict) else None
    try:
        near = [
            geodesics_m(spot[1], spot[0], float(edge["correlated_lat"]), float(edge["correlated_lon"]))
            for edge in edges or ()
        ]
    except (KeyError, TypeError, ValueError, OverflowError):
        return float("nan")
    return float(min(near, default=float("nan")))


def _of(pair: Any, key: str) -> Any:
    return pair.get(key) if isinstance(pair, dict) else None


def decode_polyline(text: str) -> list[tuple[float, float]]:
    """(lon, lat) of an encoded line of six decimals: differences in base 64 groups of five bits, zigzag.

    Raises ValueError or IndexError when the text ends within a number or holds another character.
    """
    points, lat, lon, at = [], 0, 0, 0
    while at < len(text):
        d_lat, at = _decode_number(text, at)
        d_lon, at = _decode_number(text, at)
        lat, lon = lat + d_lat, lon + d_lon
        points.append((lon / 1e6, lat / 1e6))
    return points


def _decode_number(text: str, at: int) -> tuple[int, int]:
    value = shift = 0
    while True:
        group = ord(text[at]) - 63
        if not 0 <= group < 64:
            raise ValueError(f"no encoded line: {text[at]!r}")
        value |= (group & 31) << shift
        shift, at = shift + 5, at + 1
        if group < 32:
            return (~(value >> 1) if value & 1 else value >> 1), at
