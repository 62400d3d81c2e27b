"""Keep labels, the ends of rounds, as columns: pick some, join some, leave out those that are beaten."""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from routing.planning.bound_numbers import FAR, Flags, Floats, Ints

SLACK = 1e-6
MATCHED = 100


@dataclass(eq=False)
class Labels:
    """Ends of rounds: from leaving ``node`` on, with all that must be aboard on reaching it.

    ``money`` is less what the visits after ``node`` are worth; ``tied`` what the resources' prices add,
    ``drawn`` the shares of limited stocks.
    """

    node: Ints
    seconds: Floats
    money: Floats
    tied: Floats
    drawn: Floats
    load: Floats
    met: Flags
    parent: Ints
    bound: Floats

    def __len__(self) -> int:
        return len(self.node)

    def take(self, which: Ints | Flags) -> Labels:
        """Some of them."""
        return Labels(
            self.node[which], self.seconds[which], self.money[which], self.tied[which], self.drawn[which],
            self.load[which], self.met[which], self.parent[which], self.bound[which],
        )  # fmt: skip


def within(amounts: Floats, most: Floats | float) -> Flags:
    """Which rows are nowhere above a limit."""
    return np.asarray((amounts <= most + SLACK).all(axis=1))


def cheapest(labels: Labels, most: int) -> tuple[Labels, float]:
    """The labels of lowest bound, and the lowest bound of those left out."""
    if len(labels) <= most:
        return labels, FAR
    order = np.argsort(labels.bound, kind="stable")
    return labels.take(order[:most]), float(labels.bound[order[most]])


def best_of(columns: list[Floats], met: list[NDArray[np.uint64]]) -> Flags:
    """Of labels by rising money: which no earlier one equals or beats in the rest.

    The first labels alone are held against the others: they beat most of those that are beaten.
    """
    count = len(columns[0])
    keep = np.ones(count, dtype=bool)
    for at in range(min(count - 1, MATCHED)):
        if keep[at]:
            after = slice(at + 1, count)
            worse = columns[0][after] >= columns[0][at] - SLACK
            for column in columns[1:]:
                worse &= column[after] >= column[at] - SLACK
            for word in met:
                worse &= (word[at] & ~word[after]) == 0
            keep[after] &= ~worse
    return keep


def joined(parts: list[Labels]) -> Labels:
    """All of them in one."""
    return Labels(*(np.concatenate([getattr(p, field.name) for p in parts]) for field in fields(Labels)))
