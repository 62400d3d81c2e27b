"""Price what a changed plan asks of the drivers, so that a re-plan leaves alone what it can."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Habit:
    """What the drivers were told before, by truck, and what it costs to tell them otherwise.

    Routes are stops as in ``problem``: visits from 0, depot calls below. ``moved`` is the price of a visit
    that goes to another truck, ``reordered`` of one that no longer follows the visit it was to follow.
    ``heading`` by truck: the visits of the yard that it stands in or drives to, one of which comes first;
    ``turned`` is the price of sending it elsewhere.
    """

    routes: tuple[tuple[int, ...], ...]
    moved: float
    reordered: float
    heading: tuple[frozenset[int], ...] = ()
    turned: float = 0.0

    def led(self, routes: Sequence[tuple[int, ...]]) -> tuple[tuple[int, ...], ...]:
        """Routes in which every truck goes first where it is driving to, whoever had that visit."""
        firsts: dict[int, int] = {}
        for k, there in enumerate(self.heading):
            free = there - set(firsts.values())
            if free:
                told = (*routes[k], *self.routes[k])
                firsts[k] = next((s for s in told if s in free), min(free))
        rest = [tuple(s for s in stops if s not in firsts.values()) for stops in routes]
        return tuple((firsts[k], *stops) if k in firsts else stops for k, stops in enumerate(rest))


def followers(stops: tuple[int, ...]) -> list[tuple[int, int]]:
    """Each visit of a route with the visit before it (-1 before the first); depot calls are passed over."""
    visits = [s for s in stops if s >= 0]
    return list(zip([-1, *visits], visits, strict=False))
