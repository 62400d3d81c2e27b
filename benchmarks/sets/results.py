"""Keep results as lines of JSON that are only ever added to, so that a long run can be taken up again."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from pathlib import Path

Key = tuple[str, str, str, float, int]


@dataclass(frozen=True)
class Result:
    """One run: ``cost`` None is no plan at all. Times are in seconds.

    ``took`` is the processor time of the search on each of its cores, ``cpu`` that of all cores, ``clock``
    the time by the clock. Runs that were ended by the clock have no ``clock``: ``took`` is theirs. ``code``
    tells versions of the planner apart; it is empty for others, whose names have their version.
    """

    kind: str
    instance: str
    clients: int
    contestant: str
    code: str
    seconds: float
    seed: int
    known: float
    cost: float | None
    feasible: bool
    took: float
    cpu: float
    trouble: str
    date: str
    machine: str
    clock: float = 0.0

    @property
    def key(self) -> Key:
        """What makes a run the same as another."""
        return (self.instance, self.contestant, self.code, self.seconds, self.seed)

    @property
    def gap(self) -> float | None:
        """Per cent above the best known; None without a plan that keeps the rules."""
        return 100.0 * (self.cost / self.known - 1.0) if self.feasible and self.cost is not None else None


def load(file: Path) -> list[Result]:
    """All results of a file, the last of each key; none where there is no file."""
    if not file.exists():
        return []
    lines = file.read_text(encoding="utf-8").splitlines()
    found = (Result(**json.loads(line)) for line in lines if line.strip())
    return list({result.key: result for result in found}.values())


def add(file: Path, result: Result) -> None:
    """Put one result at the end of a file, in one write."""
    file.parent.mkdir(parents=True, exist_ok=True)
    with file.open("a", encoding="utf-8") as out:
        out.write(json.dumps(asdict(result)) + "\n")


def of_code(results: Iterable[Result], code: str) -> list[Result]:
    """Without runs of other versions of the planner; where this one has none, with those of the last."""
    rows = list(results)
    codes = [r.code for r in rows if r.code]
    kept = code if code in codes or not codes else codes[-1]
    return [r for r in rows if not r.code or r.code == kept]
