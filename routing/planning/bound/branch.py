"""Part the days by how many trucks go out; each part has its prices and its bound."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from routing.planning.bound.master import Fleet
from routing.planning.bound.numbers import Floats


@dataclass(frozen=True)
class At:
    """Prices: the worth of each visit, what each model's resources are asked, the fines of cuts."""

    worth: Floats
    asked: list[Floats]
    fines: Floats

    def towards(self, other: At, steady: float) -> At:
        """Between these prices (a share ``steady`` of them) and others."""
        fines = np.zeros(len(other.fines))
        fines[: len(self.fines)] = self.fines
        return At(
            steady * self.worth + (1 - steady) * other.worth,
            [steady * a + (1 - steady) * b for a, b in zip(self.asked, other.asked, strict=True)],
            steady * fines + (1 - steady) * other.fines,
        )


@dataclass(eq=False)
class Branch:
    """The days on which so many trucks go out; the best prices known and the bound they give."""

    fleet: Fleet
    at: At
    bound: float = -np.inf
    done: bool = False

    def parted(self, row: int, most: int) -> list[Branch]:
        """The days with more than so many trucks of a kind (the last row: of all), and those with no more."""
        fewer = Fleet(self.fleet.least, _with(self.fleet.most, row, most))
        more = Fleet(_with(self.fleet.least, row, most + 1), self.fleet.most)
        return [Branch(fleet, self.at, self.bound) for fleet in (more, fewer)]


def _with(numbers: tuple[int, ...], at: int, value: int) -> tuple[int, ...]:
    """The numbers with another in one place."""
    found = list(numbers)
    found[at] = value
    return tuple(found)
