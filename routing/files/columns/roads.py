"""List the keys of [roads] in operation.toml."""

from __future__ import annotations

from routing.files.columns.column import Column, Table, choice, fraction, number, text
from routing.files.columns.unit_family import SECONDS, length, speed

_KINDS = {
    "motorway": "on a motorway",
    "trunk": "on a trunk road",
    "primary": "on a primary road",
    "secondary": "on a secondary road",
    "tertiary": "on a tertiary road",
    "unclassified": "on a minor road",
    "residential": "on a residential road",
    "living_street": "on a living street",
    "service": "on a service road or driveway",
    "link": "on a slip road",
    "track": "on a track of unknown grade",
    "track_grade1": "on a paved track",
    "track_grade2": "on a gravelled track",
    "track_grade3": "on a track half earth, half stone",
    "track_grade4": "on an earth track",
    "track_grade5": "on a soft track",
    "gravel": "at most on gravel",
    "dirt": "at most on earth, sand and grass",
    "cobble": "at most on cobbles",
    "off_road": "between a place and the nearest road",
}

_DELAYS = {
    "turn": "time lost by a turn at a junction",
    "sharp_turn": "time lost by a turn of more than 120 degrees",
    "signals": "time lost at traffic lights",
    "stop": "time lost at a stop sign or railway crossing",
    "gate": "time to open, pass and close a gate",
    "private_gate": "the same at a gate that is locked or marked private",
    "ford": "time lost at a ford",
}


def _speed(kind: str, where: str) -> Column:
    return number(f"{kind}_km_per_h", speed(kind), f"truck speed {where}", 1, 130)


def _delay(kind: str, meaning: str) -> Column:
    return number(f"{kind}_s", f"{kind}_s", meaning, 0, 3600, unit=SECONDS)


ROADS = Table(
    "roads",
    'speeds and delays of drives on roads, with `method = "roads"` or `"engine"` in [travel]',
    (),
    (
        *(_speed(kind, where) for kind, where in _KINDS.items()),
        *(_delay(kind, meaning) for kind, meaning in _DELAYS.items()),
        choice("ground", ("dry", "wet"), "wet closes tracks that are passable only when dry, and fords"),
        number(
            "snap_limit_m",
            length("snap_limit"),
            "warn about places farther from a road than this",
            1,
            5000,
        ),
        text("elevation", "elevation grid (.asc, degrees, metres), for the fuel of climbs; only with roads"),
        fraction("climb_efficiency", "share of the fuel's energy that lifts the truck", 0.1, 1),
        number(
            "fuel_mj_per_l", "fuel_mj_per_l", "energy in a litre of fuel, MJ (lower heating value)", 10, 50
        ),
        fraction("coast_slope", "steepest slope at which a descent gives all its energy back", 0, 0.2),
        text("attribution", "owner of the map data, shown on every output; empty: as the road graph says"),
    ),
)
