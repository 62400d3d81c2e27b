"""Branch on fleet size: each branch has a range of trucks that go out, its best duals and its bound."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from routing.planning.bound.model import FAR
from routing.planning.machine_code.records import Floats


@dataclass(frozen=True)
class Duals:
    """Dual prices: of each visit, of each model's resources (the shared stocks last), of each cut."""

    visits: Floats
    resources: list[Floats]
    cuts: Floats

    def smoothed(self, other: Duals, share: float) -> Duals:
        """Between these duals (a ``share`` of them) and others; cuts unknown to these had none."""
        cuts = np.zeros(len(other.cuts))
        cuts[: len(self.cuts)] = self.cuts
        return Duals(
            share * self.visits + (1 - share) * other.visits,
            [share * a + (1 - share) * b for a, b in zip(self.resources, other.resources, strict=True)],
            share * cuts + (1 - share) * other.cuts,
        )

    def with_cuts(self, count: int) -> Duals:
        """The same duals for so many cuts: new cuts have none yet."""
        cuts = np.zeros(count)
        cuts[: len(self.cuts)] = self.cuts
        return Duals(self.visits, self.resources, cuts)


@dataclass(frozen=True)
class Fleet:
    """How many trucks go out at the least and at the most: of each kind, and of all together (the last)."""

    least: tuple[int, ...]
    most: tuple[int, ...]

    def cheapest(self, extra: Sequence[float]) -> float:
        """The least that the trucks that go out add, where one of each kind adds ``extra``."""
        counts = list(self.least[:-1])
        for at in sorted(range(len(counts)), key=lambda at: extra[at]):
            wanted = (self.least[-1] if extra[at] >= 0 else self.most[-1]) - sum(counts)
            counts[at] += max(0, min(wanted, self.most[at] - counts[at]))
        if not self.least[-1] <= sum(counts) <= self.most[-1]:
            return FAR
        return sum(count * more for count, more in zip(counts, extra, strict=True) if count)


@dataclass(eq=False)
class Branch:
    """The plans that send out a fleet; the best duals known and the bound they give."""

    fleet: Fleet
    duals: Duals
    bound: float = -np.inf
    done: bool = False

    def split(self, row: int, most: int) -> list[Branch]:
        """Two branches: more than ``most`` trucks of a kind (the last row: of all), and no more."""
        fewer = Fleet(self.fleet.least, _with(self.fleet.most, row, most))
        more = Fleet(_with(self.fleet.least, row, most + 1), self.fleet.most)
        return [Branch(fleet, self.duals, self.bound) for fleet in (more, fewer)]


def _with(numbers: tuple[int, ...], at: int, value: int) -> tuple[int, ...]:
    """The numbers with another in one place."""
    found = list(numbers)
    found[at] = value
    return tuple(found)
