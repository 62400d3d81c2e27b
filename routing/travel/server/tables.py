"""Check the tables that a routing server or engine answers with; make whole metres and seconds of them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from routing.domain.units import M_PER_KM
from routing.travel.straight.geodesic import geodesics_m

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

MOST_NAMED = 5

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


def check_table(spots: Spots, block: Block, names: Sequence[str], fault: Fault) -> None:
    """Raise the fault for values that cannot be: roads shorter than straight lines, faster than any truck,
    longer than any day. Pairs without a way are passed over.
    """
    lon, lat = np.array([s[0] for s in spots]), np.array([s[1] for s in spots])
    straight_m = geodesics_m(lat[:, None], lon[:, None], lat[None, :], lon[None, :])
    moved_m = block.moved_m if block.moved_m is not None else np.full(len(spots), 5_000.0)
    least_m = straight_m * SHORTER - moved_m[:, None] - moved_m[None, :] - SLACK_M
    distance_m, duration_s = block.distance_m, block.duration_s
    found = Suspects(names, distance_m, duration_s, straight_m, fault)
    found.never(distance_m < least_m, TOO_SHORT)
    found.never(duration_s + SLACK_S < distance_m / FASTEST_M_PER_S, TOO_FAST)
    found.never(duration_s > LONGEST_S, TOO_LONG)


def cut_off(block: Block, depots: int, names: Sequence[str], fault: Fault) -> NDArray[np.bool_]:
    """Which places no way leads to and from: those outside the largest group that joins.

    The first ``depots`` places are depots. Raises the fault when one of them or half of all places are cut
    off, or when a way is missing between places that both join a third.
    """
    missing = np.isnan(block.distance_m) | np.isnan(block.duration_s)
    np.fill_diagonal(missing, False)
    joined = ~missing & ~missing.T
    centre = int(np.argmax(joined.sum(axis=1)))
    shut: NDArray[np.bool_] = ~joined[centre]
    if shut[:depots].any() or 2 * shut.sum() >= len(names):
        some = [names[int(k)] for k in np.flatnonzero(shut)]
        more = " and others" if len(some) > MOST_NAMED else ""
        raise fault(
            f"it knows no way between {', '.join(some[:MOST_NAMED])}{more} and {names[centre]}: check their "
            "coordinates and its map"
        )
    odd = np.argwhere(missing & ~shut[:, None] & ~shut[None, :])
    if len(odd):
        i, j = (int(k) for k in odd[0])
        raise fault(f"it knows no way from {names[i]} to {names[j]}, yet one by way of {names[centre]}")
    return shut


def rounded_up(table: Floats, missing: int) -> Ints:
    """Whole numbers, rounded up (a millionth over is the noise of binary fractions); ``missing`` for NaN."""
    whole: Ints = np.where(np.isnan(table), missing, np.ceil(np.round(table, 6))).astype(np.int64)
    return whole


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
