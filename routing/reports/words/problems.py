"""Word the problems of the input: the same mistake in many rows is said once."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from routing.domain.errors import InputProblem
from routing.domain.operation import Counts
from routing.reports.words.format import plural

FEW = 3
"""Up to so many rows with the same mistake are listed one by one."""
MOST_ROWS_NAMED = 6


@dataclass(frozen=True)
class Group:
    """One mistake, and the rows that have it; a single row where it stands alone."""

    first: InputProblem
    rows: tuple[int, ...]

    @property
    def place(self) -> str:
        """``colonies.csv:3:date``, or ``colonies.csv:date: 94 rows (2-95)``."""
        if len(self.rows) == 1:
            return self.first.place
        return f"{self.first.file}:{self.first.column or '-'}: {len(self.rows)} rows ({_listed(self.rows)})"

    @property
    def found(self) -> str:
        """What was found there, in the first of the rows."""
        if len(self.rows) == 1 or not self.first.value:
            return self.first.found
        return f"such as {self.first.found}"

    def __str__(self) -> str:
        parts = (self.place, self.found, self.first.wrong, self.first.remedy)
        return ": ".join(part for part in parts if part)


def grouped(problems: Iterable[InputProblem]) -> list[Group]:
    """Problems in the order found, those of one kind and column together where there are many."""
    alike: dict[tuple[str, ...], list[InputProblem]] = {}
    for p in problems:
        key = (p.severity, p.code, p.file, p.column, p.wrong, p.remedy)
        alike.setdefault(key, []).append(p)
    groups = []
    for found in alike.values():
        if len(found) > FEW and all(p.row for p in found):
            groups.append(Group(found[0], tuple(p.row for p in found)))
        else:
            groups += [Group(p, (p.row,)) for p in found]
    return groups


def counts_text(counts: Counts) -> str:
    """``Read 36 yards with 1,002 colonies, 2 trucks and 3 depots.``"""
    colonies = plural(counts.colonies, "colony", "colonies")
    return (
        f"Read {plural(counts.yards, 'yard')} with {colonies}, "
        f"{plural(counts.trucks, 'truck')} and {plural(counts.depots, 'depot')}."
    )


def _listed(rows: Sequence[int]) -> str:
    """``2-40, 52``: rows that follow each other together, the rest of a long list left out."""
    ordered = sorted(set(rows))
    starts = [ordered[0], *(b for a, b in pairwise(ordered) if b != a + 1)]
    ends = [*(a for a, b in pairwise(ordered) if b != a + 1), ordered[-1]]
    spans = [f"{a}" if a == b else f"{a}-{b}" for a, b in zip(starts, ends, strict=True)]
    return ", ".join(spans[:MOST_ROWS_NAMED]) + (" ..." if len(spans) > MOST_ROWS_NAMED else "")
