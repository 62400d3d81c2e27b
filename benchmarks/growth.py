"""Measure how time and memory grow with the yards: ``python -m benchmarks.growth``.

Each size is planned in a process of its own, from the files of an invented operation to map and run sheets,
with the search held to the same time.
"""

from __future__ import annotations

import argparse
import json
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass, field
from datetime import date
from pathlib import Path
from typing import Any, TypeVar

from benchmarks.common.machine import SHARED_BELOW, cpu_s, prepare, python_and_cores
from benchmarks.common.page import PAGE, chart, table, write_section
from benchmarks.common.plots import curves
from routing.audit import audit
from routing.domain.operation import Operation
from routing.domain.travel import Travel
from routing.files.operation.folder import read_operation
from routing.need.ration import need_of_day
from routing.need.syrup import resolve
from routing.planning.plan.day import write_day
from routing.planning.problem.build import build_days
from routing.planning.run.solve import Outcome, Progress, SolveOptions, solve
from routing.reports.map.html import map_html
from routing.reports.printing.run_sheet import run_sheet_pdf
from routing.travel.straight.straight import straight_travel
from tests.support.invented.folder import write_folder
from tests.support.invented.invent import DAY, invent_operation

YARDS = (10, 30, 100, 300, 1000, 2000)
PARTS = ("read", "need", "travel", "state", "search", "write", "audit", "outputs")
ROOT = Path(__file__).parents[1]
T = TypeVar("T")
INTRODUCTION = """\
## Growth with the yards

Invented days (two syrups, refills, gate hours, weak bridges, quarantine, pails; above 300 yards also holding
yards that need several loads), each planned in a process of its own on straight lines, the search held to
{seconds:g} s on {workers} {cores}. Seconds of wall time: *read* the files, *need* of every yard, *travel*
between all places, *state* the day with its tanks' syrups, *first* plan (since the search began), *search* in
all, *write* the plan with its reasons, *audit*, *outputs* (map and run sheets). Memory is the most that the
program itself and the largest of its workers held.
"""


@dataclass
class Grown:
    """What one size took: seconds by part, memory in MB, and what the plan was like."""

    yards: int
    visits: int = 0
    trucks: int = 0
    unserved: int = 0
    price: float = 0.0
    findings: int = 0
    first_s: float = 0.0
    own_mb: float = 0.0
    worker_mb: float = 0.0
    search_cpu_s: float = 0.0
    workers: int = 1
    parts: dict[str, float] = field(default_factory=dict)
    troubles: tuple[str, ...] = ()

    def timed(self, part: str, work: Callable[[], T]) -> T:
        """Do a part and note its seconds."""
        began = time.perf_counter()
        done = work()
        self.parts[part] = round(time.perf_counter() - began, 3)
        return done


def grown(yards: int, seconds: float, seed: int, workers: int) -> Grown:
    """Plan one size from its files to its outputs."""
    found = Grown(yards, workers=workers)
    with tempfile.TemporaryDirectory() as name:
        write_folder(invent_operation(seed, yards), Path(name))
        operation, _ = found.timed("read", lambda: read_operation(Path(name), day=DAY))
    operation = resolve(operation)
    needs = found.timed("need", lambda: need_of_day(operation, DAY))
    travel = found.timed("travel", lambda: straight_travel(operation))
    days = found.timed("state", lambda: build_days(operation, travel, DAY, needs))
    options = SolveOptions(seconds, None, seed, workers)
    outcome = _searched(found, [d.problem for d in days], options)
    plan = found.timed("write", lambda: write_day(days[outcome.variant], outcome, options))
    found.findings = len(found.timed("audit", lambda: audit(operation, travel, plan)).findings)
    found.timed("outputs", lambda: _outputs(operation, travel, plan))
    found.visits, found.trucks = len(days[0].problem.visits), len(days[0].problem.trucks)
    found.unserved, found.price = len(outcome.solution.unserved), outcome.solution.objective
    found.own_mb = round(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
    found.worker_mb = round(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024)
    return found


def _searched(found: Grown, problems: list[Any], options: SolveOptions) -> Outcome:
    def told(progress: Progress) -> None:
        found.first_s = found.first_s or round(progress.elapsed_s, 2)

    before = cpu_s()
    outcome = found.timed("search", lambda: solve(problems, options, told))
    found.search_cpu_s = round(cpu_s() - before, 2)
    found.troubles = outcome.troubles
    return outcome


def _outputs(operation: Operation, travel: Travel, plan: Any) -> None:
    map_html(operation, plan, travel)
    run_sheet_pdf(operation, plan)


def section(rows: Sequence[Grown], seconds: float, command: str, charts: Path) -> list[str]:
    """The section's lines; the chart is written into its folder."""
    workers = rows[0].workers
    words = INTRODUCTION.format(seconds=seconds, workers=workers, cores="cores" if workers > 1 else "core")
    shared = [r for r in rows if r.search_cpu_s < SHARED_BELOW * workers * min(seconds, r.parts["search"])]
    busy = " The machine was busy with other work." if shared else ""
    lines = [words, f"`{command}`, {date.today().isoformat()}. {python_and_cores()}.{busy}", ""]
    head = [
        "yards",
        "visits",
        "trucks",
        "left",
        *PARTS[:4],
        "first",
        *PARTS[4:],
        "all",
        "own MB",
        "worker MB",
    ]
    cells = [head]
    for row in rows:
        times = [f"{row.parts[part]:.2f}" for part in PARTS]
        total = f"{sum(row.parts.values()):.1f}"
        cells.append(
            [
                *map(str, (row.yards, row.visits, row.trucks, row.unserved)), *times[:4],
                f"{row.first_s:.2f}", *times[4:], total, f"{row.own_mb:.0f}", f"{row.worker_mb:.0f}",
            ]
        )  # fmt: skip
    lines += table(cells)
    lines += [f"- {row.yards} yards: {text}" for row in rows for text in row.troubles]
    lines += [f"- {row.yards} yards: the audit has {row.findings} findings" for row in rows if row.findings]
    series = [
        ("all but the search", [(r.yards, sum(r.parts.values()) - r.parts["search"]) for r in rows]),
        ("first plan", [(r.yards, r.first_s) for r in rows if r.first_s]),
        ("search beyond its time", [(r.yards, max(0.01, r.parts["search"] - seconds)) for r in rows]),
        *(
            (part, [(r.yards, max(0.01, r.parts[part])) for r in rows])
            for part in ("travel", "state", "write")
        ),
    ]
    svg = curves("Seconds by number of yards", "yards", "seconds", series)
    lines += ["", *chart(charts, "growth.svg", svg, "Seconds of wall time by number of yards")]
    return lines + chart(charts, "memory.svg", _memory(rows), "Memory by number of yards")


def _memory(rows: Sequence[Grown]) -> str:
    """A chart of the memory that the program and its largest worker held."""
    series = [
        ("the program", [(r.yards, max(1.0, r.own_mb)) for r in rows]),
        ("its largest worker", [(r.yards, max(1.0, r.worker_mb)) for r in rows]),
    ]
    return curves("MB by number of yards", "yards", "MB", series)


def main(arguments: list[str] | None = None) -> int:
    """Measure each size in a process of its own, and write the section of the page."""
    given = _parser().parse_args(arguments)
    if given.one is not None:
        print(json.dumps(asdict(grown(given.one, given.seconds, given.seed, given.workers))))
        return 0
    prepare()
    rows = []
    for yards in given.yards:
        words = ["--one", str(yards), "--seconds", str(given.seconds), "--seed", str(given.seed)]
        words += ["--workers", str(given.workers)]
        done = subprocess.run(
            [sys.executable, "-m", "benchmarks.growth", *words], capture_output=True, cwd=ROOT, text=True
        )
        if done.returncode:
            print(f"{yards} yards: {done.stderr.strip().splitlines()[-1]}", file=sys.stderr)
            return 1
        rows.append(Grown(**json.loads(done.stdout.splitlines()[-1])))
        print(f"{yards} yards: {rows[-1].parts}, {rows[-1].own_mb:.0f} MB", file=sys.stderr, flush=True)
    page = Path(given.out)
    command = f"python -m benchmarks.growth --seconds {given.seconds:g} --workers {given.workers}"
    write_section(page, "growth", section(rows, given.seconds, command, page.parent / "benchmarks"))
    print(f"written: {page}")
    return 0


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="python -m benchmarks.growth", description=__doc__)
    parser.add_argument("--yards", type=int, nargs="+", default=list(YARDS), help="sizes to measure")
    parser.add_argument("--seconds", type=float, default=10.0, help="time of the search (10)")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--workers", type=int, default=2, help="processes of the search (2)")
    parser.add_argument("--one", type=int, help="measure one size here and print it as JSON")
    parser.add_argument("--out", default=str(PAGE), help="page to write the section in")
    return parser


if __name__ == "__main__":
    sys.exit(main())
