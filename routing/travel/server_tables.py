"""Check the tables that a routing server or engine answers with; make whole metres and seconds of them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from routing.domain.units import M_PER_KM
from routing.travel.geodesic import geodesics_m

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Spots = Sequence[tuple[float, float]]
"""Places as (lon, lat) degrees."""

FASTEST_M_PER_S = 60.0
"""216 km/h: no truck drives so, but a table in minutes or in the wrong order looks like it."""

LONGEST_S = 14 * 86_400.0
"""Two weeks of driving: what takes longer is no day of feeding, but a number out of joint."""

SHORTER = 0.97
"""A road may look this much shorter than the straight line: a sphere or flat earth in the server."""

SLACK_M = 50.0
SLACK_S = 5.0


@dataclass(frozen=True)
class Block:
    """Part of a table, shape (sources, targets): metres, seconds, NaN where there is no way.

    ``moved_m``: how far each source lies from the road it was put on, where the server tells it.
    """

    distance_m: Floats
    duration_s: Floats
    moved_m: Floats | None = None


Fault = Callable[[str], Exception]
"""Makes the error to raise of what is wrong."""

TOO_SHORT = (
    "{a} to {b} is {km:.1f} km of road and {straight_km:.1f} km in a straight line: no road is shorter than "
    "that. Are its distances in metres, and its places in the order asked?"
)
TOO_FAST = "{a} to {b}, {km:.1f} km, takes {s:.0f} s: nothing drives so fast. Are its times in seconds?"
TOO_LONG = "{a} to {b}, {km:.1f} km, takes {s:.0f} s: that is weeks"


@dataclass(frozen=True)
class Suspects:
    """Tables with the names of their places, to tell of the first value that cannot be."""

    names: Sequence[str]
    distance_m: Floats
    duration_s: Floats
    straight_m: Floats
    fault: Fault

    def never(self, bad: NDArray[np.bool_], text: str) -> None:
        """Raise the fault for the first pair marked bad, if any."""
        if not bad.any():
            return
        i, j = (int(k) for k in np.argwhere(bad)[0])
        km, straight_km = self.distance_m[i, j] / M_PER_KM, self.straight_m[i, j] / M_PER_KM
        told = {"km": km, "straight_km": straight_km, "s": self.duration_s[i, j]}
        raise self.fault(text.format(a=self.names[i], b=self.names[j], **told))


def read_table(rows: Any, shape: tuple[int, int], what: str, fault: Fault) -> Floats:
    """Numbers of a table as answered, NaN for null. ``what`` names it in messages.

    Raises the fault unless it is a list of as many lists of as many finite numbers of 0 or more.
    """
    if not isinstance(rows, Sequence) or isinstance(rows, str):
        raise fault(f"it gives no {what}")
    if len(rows) != shape[0]:
        raise fault(f"its {what} have {len(rows)} rows, {shape[0]} were asked for")
    table = np.empty(shape)
    for i, row in enumerate(rows):
        if not isinstance(row, Sequence) or isinstance(row, str) or len(row) != shape[1]:
            found = len(row) if isinstance(row, Sequence) and not isinstance(row, str) else "no"
            raise fault(f"row {i + 1} of its {what} has {found} values, {shape[1]} were asked for")
        table[i] = [_number(value, what, fault) for value in row]
    if np.isinf(table).any():
        raise fault(f"its {what} hold a value without end")
    if (table < 0).any():
        raise fault(f"its {what} hold a negative value ({table[table < 0][0]:g})")
    return table


def _number(value: Any, what: str, fault: Fault) -> float:
    if value is None:
        return float("nan")
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise fault(f"its {what} hold {type(value).__name__} in place of a number")
    if value != value:
        raise fault(f"its {what} hold NaN in place of a number")
    try:
        return float(value)
    except OverflowError as error:
        raise fault(f"its {what} hold a value without end") from error


def whole_tables(spots: Spots, block: Block, names: Sequence[str], fault: Fault) -> tuple[Ints, Ints]:
    """Whole metres and seconds of a whole table, rounded up, the diagonal 0.

    Raises the fault when a pair has no way, or when values cannot be: roads shorter than straight lines,
    faster than any truck, longer than any day.
    """
    distance_m, duration_s = block.distance_m.copy(), block.duration_s.copy()
    np.fill_diagonal(distance_m, 0.0)
    np.fill_diagonal(duration_s, 0.0)
    missing = np.isnan(distance_m) | np.isnan(duration_s)
    if missing.any():
        raise fault(_unreached(missing, names))
    lon, lat = np.array([s[0] for s in spots]), np.array([s[1] for s in spots])
    straight_m = geodesics_m(lat[:, None], lon[:, None], lat[None, :], lon[None, :])
    moved_m = block.moved_m if block.moved_m is not None else np.full(len(spots), 5_000.0)
    least_m = straight_m * SHORTER - moved_m[:, None] - moved_m[None, :] - SLACK_M
    found = Suspects(names, distance_m, duration_s, straight_m, fault)
    found.never(distance_m < least_m, TOO_SHORT)
    found.never((duration_s + SLACK_S) * FASTEST_M_PER_S < distance_m, TOO_FAST)
    found.never(duration_s > LONGEST_S, TOO_LONG)
    return _up(distance_m), _up(duration_s)


def _up(table: Floats) -> Ints:
    """Whole numbers, rounded up; a millionth over is the noise of binary fractions."""
    return np.ceil(np.round(table, 6)).astype(np.int64)


def _unreached(missing: NDArray[np.bool_], names: Sequence[str]) -> str:
    """Name the places that the roads do not join to the rest: those with most pairs missing."""
    if missing.sum() == 1:
        i, j = (int(k) for k in np.argwhere(missing)[0])
        return f"it knows no way from {names[i]} to {names[j]}: check their coordinates and its map"
    left, worst = missing.copy(), []
    while left.any():
        lacks = left.sum(axis=0) + left.sum(axis=1)
        # Of equals the last, which is a yard: depots stand first, and a depot is rarely the odd one out.
        worst.append(len(names) - 1 - int(np.argmax(lacks[::-1])))
        left[worst[-1], :] = left[:, worst[-1]] = False
    some = ", ".join(names[k] for k in worst[:5]) + (" and others" if len(worst) > 5 else "")
    return f"it knows no way between {some} and the other places: check their coordinates and its map"


def gather_blocks(n: int, size: int, ask: Callable[[range, range], Block]) -> Block:
    """A whole n x n table, asked for in blocks of at most ``size`` sources and as many targets."""
    distance_m, duration_s = np.full((n, n), np.nan), np.full((n, n), np.nan)
    moved_m: Floats | None = np.zeros(n)
    for top in range(0, n, size):
        rows = range(top, min(top + size, n))
        for left in range(0, n, size):
            columns = range(left, min(left + size, n))
            part = ask(rows, columns)
            place = np.ix_(rows, columns)
            distance_m[place], duration_s[place] = part.distance_m, part.duration_s
            if part.moved_m is None:
                moved_m = None
            elif moved_m is not None:
                moved_m[rows.start : rows.stop] = part.moved_m
    return Block(distance_m, duration_s, moved_m)
