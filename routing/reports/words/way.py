"""Say which way a drive goes: ``6.7 mi: N 2.1, E 4.6``, from the line it follows."""

from __future__ import annotations

import math
from itertools import pairwise

from routing.domain.plan import Stop
from routing.reports.words.format import Units, number

WINDS = ("N", "NE", "E", "SE", "S", "SW", "W", "NW")
MOST_PARTS = 5
LEAST_SHARE = 0.07
"""A stretch shorter than this share of the drive is told with the one before (a choice)."""


def way_text(units: Units, stop: Stop) -> str:
    """The headings of a drive with the distance on each; only the first and main ones of a winding road.

    A straight line between two places is told as its heading alone: nobody drives it.
    """
    line = stop.leg.geometry
    if len(line) < 2 or not stop.leg.distance_m:
        return ""
    runs = _runs(line)
    if not runs:
        return ""
    if len(line) == 2:
        return f"heading {runs[0][0]}"
    scale = stop.leg.distance_m / sum(metres for _, metres in runs)
    kept = _joined(runs)
    parts = [f"{wind} {number(units.distance_value(metres * scale), 1)}" for wind, metres in kept]
    if len(parts) > MOST_PARTS:
        parts = [*parts[: MOST_PARTS - 1], f"then mainly {_main(kept[MOST_PARTS - 1 :])}"]
    return ", ".join(parts)


def _runs(line: tuple[tuple[float, float], ...]) -> list[tuple[str, float]]:
    """Stretches of one heading with their length in radians, on a sphere flat in so small a part."""
    runs: list[tuple[str, float]] = []
    for (lon, lat), (to_lon, to_lat) in pairwise(line):
        east = math.radians(to_lon - lon) * math.cos(math.radians((lat + to_lat) / 2))
        north = math.radians(to_lat - lat)
        length = math.hypot(east, north)
        if not length:
            continue
        wind = WINDS[round(math.degrees(math.atan2(east, north)) / 45) % 8]
        if runs and runs[-1][0] == wind:
            runs[-1] = wind, runs[-1][1] + length
        else:
            runs.append((wind, length))
    return runs


def _joined(runs: list[tuple[str, float]]) -> list[tuple[str, float]]:
    """The runs with short ones told with the one before them, the first with the one after it."""
    least = LEAST_SHARE * sum(metres for _, metres in runs)
    found: list[tuple[str, float]] = []
    spare = 0.0
    for wind, metres in runs:
        if found and (metres < least or found[-1][0] == wind):
            found[-1] = found[-1][0], found[-1][1] + metres
        elif metres < least:
            spare += metres
        else:
            found.append((wind, metres + spare))
            spare = 0.0
    return found or [(max(runs, key=lambda run: run[1])[0], sum(metres for _, metres in runs))]


def _main(runs: list[tuple[str, float]]) -> str:
    """The heading that most of some runs have."""
    sums: dict[str, float] = {}
    for wind, metres in runs:
        sums[wind] = sums.get(wind, 0.0) + metres
    return max(sums, key=lambda wind: sums[wind])
