"""Measure re-plans in mid-day, ``python -m benchmarks.replan``: first answer, whole answer, how good it is.

Each answer is given by a process of its own, as `feedround replan` gives it, from files and day log on.
"""

from __future__ import annotations

import argparse
import json
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from statistics import median
from typing import Any
from zoneinfo import ZoneInfo

from benchmarks.common.machine import prepare, python_and_cores
from benchmarks.common.page import PAGE, table, write_section
from routing.app.workflow.workflow import plan
from routing.domain.plan import Plan
from routing.files.log.log import DayLog, log_path
from routing.log.facts import Skipped, SkipReason, TruckOut
from routing.planning.plan.day import DayOptions
from routing.planning.run.solve import SolveOptions
from tests.support.day_player import event, played
from tests.support.invented.days import DEMO, DEMO_DAY
from tests.support.invented.folder import write_folder
from tests.support.invented.invent import DAY, invent_operation

ROOT = Path(__file__).parents[1]
AT = "11:20"
TARGET_S = {36: 2.0, 300: 5.0}
"""Seconds within which a re-plan is wanted, by the number of yards."""

SEARCH_S = {36: 1.2, 300: 3.2}
"""Seconds of them for the search; the rest is for reading, stating, writing and checking the plan."""

GOOD_PERCENT = 2.0
INTRODUCTION = """\
## A re-plan in mid-day

The morning was driven by the plan; at {at} a truck is out of action, and a yard is skipped at its gate
until 13:00. Each answer comes from a process of its own, as `feedround replan` gives it, and is timed from
the start of that process. *First*: the plan by cheapest insertion is told (with the processor time it
took). *Whole*: the plan was searched for {searched}, written, and has passed the audit. Prices have the
price of telling the drivers otherwise in them, and are held against one search of {longest:g} s from the
same state. *Gap*: per cent above the cheapest that was found.
"""

ANSWER = """
import json, sys, time
from datetime import date, time as clock
from pathlib import Path

began = float(sys.argv[1])
from routing.app.cli import cli
from routing.app.workflow.replanning import replan_day
from routing.planning.replan import replan as module
from routing.planning.run.solve import SolveOptions

first, solved = [], []


def told(progress):
    if not first:
        first.extend((time.time() - began, time.process_time()))


real = module.solve


def solve(problems, *more):
    outcome = real(problems, *more)
    solved.append((problems[outcome.variant], outcome.solution))
    return outcome


module.solve = solve
options = SolveOptions(float(sys.argv[5]), None, int(sys.argv[6]))
made = replan_day(
    Path(sys.argv[2]), date.fromisoformat(sys.argv[3]), clock.fromisoformat(sys.argv[4]), options, told,
    record=False,
)
whole = time.time() - began
from routing.planning.search.search import adopt
from routing.planning.evaluate.state import Judge

problem, solution = solved[-1]
price = adopt(Judge(problem), solution.routes).price
left = len(made.planned.plan.unserved)
print(json.dumps([*first, whole, price, left]))
"""


@dataclass(frozen=True)
class Case:
    """A day in progress: an operation folder with its log."""

    name: str
    yards: int
    folder: Path
    day: date


@dataclass(frozen=True)
class Answer:
    """Seconds to the first answer (wall and processor) and to the whole one, its price, and yards left."""

    first_s: float
    first_cpu_s: float
    whole_s: float
    price: float
    left: int


def cases(home: Path, sizes: Sequence[int], morning_s: float) -> Iterator[Case]:
    """The demo's day and invented ones, each played until ``AT``, with what went wrong then."""
    for size in sizes:
        if size == min(TARGET_S):
            folder = Path(shutil.copytree(DEMO, home / "demo", ignore=shutil.ignore_patterns("day_log*")))
            yield _played(Case("the demo", size, folder, DEMO_DAY), morning_s)
        folder = home / f"invented-{size}"
        folder.mkdir()
        write_folder(invent_operation(1, size), folder)
        yield _played(Case(f"{size} yards, invented", size, folder, DAY), morning_s)


def _played(case: Case, morning_s: float) -> Case:
    made = plan(case.folder, case.day, DayOptions(None, SolveOptions(morning_s))).plan
    now = datetime.combine(case.day, datetime.strptime(AT, "%H:%M").time(), ZoneInfo(made.timezone))
    with DayLog(log_path(case.folder)) as log:
        log.keep_plan(made)
        log.add_all([*played(made, now), *_mishaps(made, now)])
    return case


def _mishaps(made: Plan, now: datetime) -> list[Any]:
    """The truck with most ahead of it is out, and another finds the gate of its next yard locked."""
    ahead = {route.truck_id: [s for s in route.stops if s.arrive > now] for route in made.routes}
    out = max(ahead, key=lambda truck: (len(ahead[truck]), truck))
    others = [(t, s.place_id) for t, stops in ahead.items() if t != out for s in stops if s.kind == "yard"]
    found = [event(made, "out", now, TruckOut("clutch"), out)]
    if others:
        truck, yard_id = others[0]
        again = now.replace(hour=13, minute=0)
        found.append(event(made, "gate", now, Skipped(yard_id, SkipReason.GATE_LOCKED, "", again), truck))
    return found


def answer(case: Case, seconds: float, seed: int) -> Answer:
    """One re-plan by a process of its own."""
    words = [str(time.time()), str(case.folder), case.day.isoformat(), AT, str(seconds), str(seed)]
    env = {**os.environ, "PYTHONPATH": str(ROOT)}
    done = subprocess.run(
        [sys.executable, "-c", ANSWER, *words], capture_output=True, text=True, check=True, env=env
    )
    return Answer(*json.loads(done.stdout.splitlines()[-1]))


def section(
    found: dict[Case, tuple[list[Answer], Answer]], longest: float, command: str, busy: bool
) -> list[str]:
    """The section's lines."""
    searched = ", ".join(f"{s:g} s ({yards} yards)" for yards, s in SEARCH_S.items())
    lines = [INTRODUCTION.format(at=AT, searched=searched, longest=longest)]
    machine = " The machine was busy with other work: times are too long." if busy else ""
    lines += [f"`{command}`, {date.today().isoformat()}. {python_and_cores()}.{machine}", ""]
    head = [
        "day",
        "runs",
        "first, s",
        "processor, s",
        "whole, s",
        "wanted, s",
        "gaps, %",
        "median gap, %",
        "left",
    ]
    rows = [head]
    for case, (answers, long) in found.items():
        best = min(long.price, *(a.price for a in answers))
        gaps = [100.0 * (a.price - best) / best for a in answers]
        rows.append(
            [
                case.name, str(len(answers)), f"{median(a.first_s for a in answers):.2f}",
                f"{median(a.first_cpu_s for a in answers):.2f}", f"{median(a.whole_s for a in answers):.2f}",
                f"{TARGET_S[case.yards]:g}", ", ".join(f"{g:.2f}" for g in gaps), f"{median(gaps):.2f}",
                ", ".join(str(a.left) for a in answers),
            ]
        )  # fmt: skip
    return [*lines, *table(rows), f"Wanted: within {GOOD_PERCENT:g} % of the long search."]


def main(arguments: list[str] | None = None) -> int:
    """Measure all cases and write the section of the page."""
    given = _parser().parse_args(arguments)
    busy = hasattr(os, "getloadavg") and os.getloadavg()[0] > 0.5
    prepare()
    found: dict[Case, tuple[list[Answer], Answer]] = {}
    with tempfile.TemporaryDirectory() as name:
        for case in cases(Path(name), given.yards, given.morning):
            answer(case, 0.5, 1)  # Reads roads and code once, as any earlier plan of the day did.
            answers = [answer(case, SEARCH_S[case.yards], seed) for seed in range(1, given.seeds + 1)]
            found[case] = answers, answer(case, given.long_seconds, 1)
            print(case.name, *found[case], sep="\n  ", file=sys.stderr, flush=True)
    words = ["--yards", *map(str, given.yards), "--seeds", str(given.seeds)]
    command = " ".join(["python -m benchmarks.replan", *words, "--long-seconds", f"{given.long_seconds:g}"])
    lines = section(found, given.long_seconds, command, busy)
    write_section(Path(given.out), "replan", lines)
    print("\n".join(lines))
    return 0


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="python -m benchmarks.replan", description=__doc__)
    parser.add_argument("--yards", type=int, nargs="+", default=list(TARGET_S), choices=list(TARGET_S))
    parser.add_argument("--seeds", type=int, default=5, help="re-plans of each day (5)")
    parser.add_argument("--long-seconds", type=float, default=120.0, help="time of the long search (120)")
    parser.add_argument("--morning", type=float, default=10.0, help="time of the morning's search (10)")
    parser.add_argument("--out", default=str(PAGE), help="page to write the section in")
    return parser


if __name__ == "__main__":
    sys.exit(main())
