"""Put every contestant on every published instance at equal processor time, and tell the gaps.

``python -m benchmarks.sets`` runs all of it (many hours); ``--seconds 1 10 --seeds 2 --most 3`` a part. Each
result is added to a file at once, and what is there already is not run again: stop it and take it up as you
like. The planner is run again when its code has changed, the others are not.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from benchmarks.common.machine import cores_of, each_on_its_core, planner_code, prepare, python_and_cores
from benchmarks.common.page import PAGE, write_section
from benchmarks.published.catalog import KINDS, Entry, catalog, spread
from benchmarks.published.contest import KINDS as CONTESTANTS
from benchmarks.published.contest import Contestant, contest
from benchmarks.sets.report import section
from benchmarks.sets.results import Result, add, load, of_code
from tests.support.instances.run import Solved

FILE = PAGE.parents[1] / "maps" / "benchmarks" / "sets.jsonl"
"""Results so far: of one machine and one state of the code, so they are not part of the project."""

OVERHEAD_S = 1.2
"""What starting a contestant takes besides its time, for the forecast."""
WORKERS = (1, 2)
"""The planner has one core as the others do, and two against the better of two seeds of theirs."""
Say = Callable[[str], None]


@dataclass(frozen=True)
class Run:
    """One run to do."""

    entry: Entry
    contestant: Contestant
    seconds: float
    seed: int

    def key(self, code: str) -> tuple[str, str, str, float, int]:
        """As ``Result.key``."""
        mine = code if self.contestant.kind == "planner" else ""
        return (self.entry.name, self.contestant.name, mine, self.seconds, self.seed)


def runs(
    entries: Sequence[Entry], contestants: Sequence[Contestant], seconds: Sequence[float], seeds: int
) -> list[Run]:
    """Short runs first, then seed by seed over all instances, so that a part of it is a fair part."""
    return [
        Run(entry, who, s, seed)
        for s in sorted(seconds)
        for seed in range(1, seeds + 1)
        for entry in entries
        for who in contestants
        if seed == 1 or who.seeded
    ]


def forecast_s(todo: Sequence[Run], jobs: int) -> float:
    """Seconds that runs will take, so many at a time, each with a core to itself."""
    return sum(run.seconds * run.contestant.workers + OVERHEAD_S for run in todo) / jobs


def measure(todo: Sequence[Run], file: Path, cores: Sequence[int | None], say: Say) -> None:
    """Run one after the other on each core, each result put down at once."""
    code = planner_code()

    def solve(run: Run) -> Solved:
        entry = run.entry
        return contest(run.contestant, entry.instance, entry.file, entry.rounding, run.seconds, run.seed)

    for number, (run, solved) in enumerate(each_on_its_core(solve, todo, cores), start=1):
        result = _result(run, solved, code)
        add(file, result)
        gap = "no plan" if result.gap is None else f"{result.gap:.2f} %"
        where = (
            f"{run.entry.kind} {run.entry.name}, {run.contestant.name}, {run.seconds:g} s, seed {run.seed}"
        )
        say(f"[{number}/{len(todo)}] {where}: {gap}{' (' + result.trouble + ')' if result.trouble else ''}")


def _result(run: Run, solved: Solved, code: str) -> Result:
    entry = run.entry
    return Result(
        kind=entry.kind,
        instance=entry.name,
        clients=len(entry.instance.clients),
        contestant=run.contestant.name,
        code=code if run.contestant.kind == "planner" else "",
        seconds=run.seconds,
        seed=run.seed,
        known=entry.known,
        cost=solved.cost if solved.routes else None,
        feasible=solved.verdict.feasible,
        took=round(solved.seconds / run.contestant.workers, 2),
        cpu=round(solved.seconds, 2),
        trouble="; ".join(solved.troubles),
        date=date.today().isoformat(),
        machine=python_and_cores(),
        clock=round(max(solved.clock_s, solved.seconds), 2),
    )


def main(arguments: list[str] | None = None) -> int:
    """Measure what is missing and write the section of the page."""
    given = _parser().parse_args(arguments)
    cores = cores_of(given.jobs, given.cores)
    file, page = Path(given.results), Path(given.out)
    if not given.report_only:
        entries, notes = catalog(given.data, given.only or KINDS)
        for note in notes:
            _say(note)
        wanted = runs(spread(entries, given.most), contestants(given), given.seconds, given.seeds)
        there = set() if given.again else {result.key for result in load(file) if result.clock}
        todo = [run for run in wanted if run.key(planner_code()) not in there]
        minutes = forecast_s(todo, len(cores)) / 60
        _say(
            f"{len(wanted)} runs, {len(todo)} of them to do: about {minutes:.0f} min, where each of "
            f"{len(cores)} at a time has a core to itself"
        )
        if given.forecast:
            return 0
        prepare()
        measure(todo, file, cores, _say)
    results = of_code(load(file), planner_code())
    if not results:
        print(f"no results in {file}", file=sys.stderr)
        return 1
    write_section(page, "sets", section(results, page.parent / "benchmarks"))
    print(f"written: {page}")
    return 0


def contestants(given: argparse.Namespace) -> list[Contestant]:
    """Those asked for: the planner with one worker and with two, PyVRP here and in each environment named."""
    found = []
    for kind in given.contestants:
        if kind == "planner":
            found += [Contestant(kind, None, workers) for workers in given.workers]
            continue
        found.append(Contestant(kind))
        if kind == "pyvrp":
            found += [Contestant(kind, python) for python in given.pyvrp]
    return list({who.name: who for who in found if "not installed" not in who.name}.values())


def _say(line: str) -> None:
    print(time.strftime("%H:%M:%S"), line, file=sys.stderr, flush=True)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="python -m benchmarks.sets", description=__doc__)
    parser.add_argument("--seconds", type=float, nargs="+", default=[1.0, 10.0, 60.0], help="times of a run")
    parser.add_argument("--seeds", type=int, default=5, help="seeds, where a contestant takes one (5)")
    parser.add_argument("--most", type=int, help="at most so many instances a set, spread over it")
    parser.add_argument("--only", nargs="+", choices=KINDS, help="these sets alone")
    parser.add_argument("--contestants", nargs="+", choices=CONTESTANTS, default=list(CONTESTANTS))
    parser.add_argument("--pyvrp", nargs="*", default=[], help="interpreters with other versions of PyVRP")
    parser.add_argument("--workers", type=int, nargs="+", default=list(WORKERS), help="of the planner (1 2)")
    parser.add_argument("--jobs", type=int, default=1, help="runs at a time, each on a core of its own (1)")
    parser.add_argument("--cores", type=int, nargs="+", help="keep to these cores, one run on each")
    parser.add_argument("--forecast", action="store_true", help="only tell how long it will take")
    parser.add_argument("--again", action="store_true", help="run also what is there already")
    parser.add_argument("--report-only", action="store_true", help="write the page from what is there")
    parser.add_argument("--data", help="folder of published instances (else FEEDROUND_BENCHMARKS)")
    parser.add_argument("--results", default=str(FILE), help="file of results, added to")
    parser.add_argument("--out", default=str(PAGE), help="page to write the section in")
    return parser


if __name__ == "__main__":
    sys.exit(main())
