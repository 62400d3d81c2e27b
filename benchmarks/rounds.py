"""Plan and drive rounds of several days with each contestant: ``python -m benchmarks.rounds``.

Each round of each contestant is driven by a process of its own, every day planned with the same processor
time on one core.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import time
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import date
from functools import partial
from pathlib import Path

from benchmarks.common.machine import cores_of, each_on_its_core, prepare
from benchmarks.common.measure import mean, setting
from benchmarks.common.page import PAGE, table, write_section
from benchmarks.contestants import engine_alone, ortools_routing
from benchmarks.contestants.planner_direct import by_processor_time
from benchmarks.feeding.round import DayDriven, Decide, drive_round
from routing.planning.evaluate.state import Judge, State
from routing.planning.problem.build import Day
from routing.planning.problem.problem import Problem
from routing.planning.run.solve import Outcome
from routing.planning.run.worker import Job, work
from routing.planning.search.search import adopt
from routing.travel.straight.straight import straight_travel
from tests.support.invented.invent import invent_operation

ROOT = Path(__file__).parents[1]
ROUNDS = ("24x2", "36x3", "60x5", "60x2", "120x3")
"""Yards, and the days that the trucks are enough for, roughly."""
PLANNER, ENGINE, LIBRARY = "planner", "PyVRP alone", "OR-Tools routing"
WHO = (PLANNER, ENGINE, LIBRARY)
INTRODUCTION = """\
## Rounds of several days

The same yards are to be fed by fewer trucks, over several days. Each day is planned from what the day before
left by the project's own day log: yards undone, syrup in tanks and in store, stores that go down while
colonies wait. Every contestant plans every day with {seconds:g} s of processor time on one core and drives by
its own plans; the exact rules and the reckoning are the same for all, and the audit judges every day. PyVRP
and OR-Tools, which cannot choose the syrups of the tanks, have the choice that is cheapest by insertion.
Nobody delivers syrup meanwhile: a round may end with yards that wait because others emptied the store that
they are fed from. *Money* is wages, overtime, fuel and wear of the whole round. *Hungry*: yards that were
starving in the morning and still waited at night, summed over the nights. *Waiting*: yards still due when the
round ended.
"""


@dataclass(frozen=True)
class Driven:
    """One round as one contestant drove it."""

    name: str
    contestant: str
    seed: int
    trucks: int
    days: tuple[DayDriven, ...]

    @property
    def money(self) -> float:
        """Money of all days."""
        return sum(day.money for day in self.days)

    @property
    def litres(self) -> float:
        """Syrup fed."""
        return sum(day.volume_l for day in self.days)

    @property
    def waiting(self) -> int:
        """Yards still due at the end."""
        return self.days[-1].waiting if self.days else 0

    @property
    def hungry(self) -> int:
        """Nights that starving yards waited through."""
        return sum(day.hungry for day in self.days)

    @property
    def findings(self) -> int:
        """What the audit found, all days together."""
        return sum(day.findings for day in self.days)


@dataclass(frozen=True)
class Task:
    """A round (``36x3``: 36 yards, trucks for three days) for a contestant."""

    name: str
    number: int
    contestant: str
    seconds: float
    seed: int

    @property
    def yards(self) -> int:
        """How many yards."""
        return int(self.name.split("x")[0])

    @property
    def days(self) -> int:
        """How many days the trucks are for."""
        return int(self.name.split("x")[1])


def decider(contestant: str, seconds: float, seed: int) -> Decide:
    """How a contestant plans a day, by processor time on one core."""

    def decide(days: Sequence[Day], number: int) -> Outcome:
        problems = tuple(day.problem for day in days)
        at = seed + 100 * number
        if contestant == PLANNER:
            found = work(Job(problems, at, seconds, None), lambda _: None)
            return Outcome(found.variant, found.solution)
        first = [adopt(Judge(p), ((),) * len(p.trucks)) for p in problems]
        variant = min(range(len(first)), key=lambda i: first[i].price)
        state = _by_engine(contestant, problems[variant], seconds, at)
        return Outcome(variant, (state or first[variant]).solution())

    return decide


def _by_engine(contestant: str, problem: Problem, seconds: float, seed: int) -> State | None:
    if contestant == ENGINE:
        return engine_alone.plan(problem, seconds, seed, time.process_time)
    return ortools_routing.plan(problem, seconds)


def drive(task: Task) -> Driven:
    """Drive one round in this process."""
    by_processor_time()
    operation = invent_operation(task.number, task.yards, task.days)
    decide = decider(task.contestant, task.seconds, task.seed)
    days = drive_round(operation, straight_travel(operation), decide)
    name = f"{task.yards} yards, no. {task.number}"
    return Driven(name, task.contestant, task.seed, len(operation.trucks), tuple(days))


def drive_apart(task: Task) -> Driven | str:
    """The same in a process of its own; what went wrong, in words, where it died."""
    words = [sys.executable, "-m", "benchmarks.rounds", "--one", json.dumps(asdict(task))]
    done = subprocess.run(words, capture_output=True, cwd=ROOT, text=True)
    if done.returncode:
        last = done.stderr.strip().splitlines()[-1:] or [f"exit {done.returncode}"]
        return f"{task.name}, {task.contestant}, seed {task.seed}: died: {last[0]}"
    told = json.loads(done.stdout.splitlines()[-1])
    return Driven(**{**told, "days": tuple(DayDriven(**day) for day in told["days"])})


def section(rows: Sequence[Driven], troubles: Sequence[str], seconds: float, command: str) -> list[str]:
    """The section's lines."""
    lines = [INTRODUCTION.format(seconds=seconds)]
    lines += [f"`{command}`, {date.today().isoformat()}. {setting()}", ""]
    cells = [["round", "trucks", "contestant", "runs", "days", "money", "money a yard", "hungry", "waiting"]]
    for name, trucks in dict.fromkeys((r.name, r.trucks) for r in rows):
        for who in WHO:
            mine = [r for r in rows if (r.name, r.trucks, r.contestant) == (name, trucks, who)]
            if mine:
                cells.append([name, str(trucks), who, str(len(mine)), *_cells(mine)])
    lines += table(cells)
    lines += [f"- {text}" for text in troubles]
    lines += [
        f"- {r.name}, {r.contestant}, seed {r.seed}: the audit has {r.findings} findings"
        for r in rows
        if r.findings
    ]
    return lines


def _cells(rows: Sequence[Driven]) -> list[str]:
    fed = [sum(day.fed for day in r.days) for r in rows]
    each = [r.money / max(1, n) for r, n in zip(rows, fed, strict=True)]
    return [
        _span([len(r.days) for r in rows]),
        f"{mean([r.money for r in rows]):.0f}",
        f"{mean(each):.2f}",
        f"{mean([r.hungry for r in rows]):g}",
        _span([r.waiting for r in rows]),
    ]


def _span(values: Sequence[int]) -> str:
    low, high = min(values), max(values)
    return str(low) if low == high else f"{low}-{high}"


def main(arguments: list[str] | None = None) -> int:
    """Drive all rounds and write the section of the page."""
    given = _parser().parse_args(arguments)
    if given.one:
        print(json.dumps(asdict(drive(Task(**json.loads(given.one))))))
        return 0
    seeds = range(1, given.seeds + 1)
    todo = [
        Task(name, given.number, who, given.seconds, seed)
        for name in given.rounds
        for seed in seeds
        for who in WHO
        # The library has no seed.
        if who != LIBRARY or seed == 1
    ]
    prepare()
    cores = cores_of(given.jobs)
    minutes = sum((t.days + 1) * (t.seconds + 2) for t in todo) / 60 / len(cores)
    print(f"{len(todo)} rounds to drive: about {minutes:.0f} min", file=sys.stderr, flush=True)
    rows: list[Driven] = []
    troubles: list[str] = []
    for _, found in each_on_its_core(drive_apart, todo, cores):
        if isinstance(found, str):
            troubles.append(found)
            print(found, file=sys.stderr, flush=True)
            continue
        rows.append(found)
        told = f"{len(found.days)} days, {found.money:.0f}, {found.waiting} waiting, {found.hungry} hungry"
        print(f"{found.name}, {found.contestant}, seed {found.seed}: {told}", file=sys.stderr, flush=True)
    words = ["--rounds", *given.rounds, "--seconds", f"{given.seconds:g}", "--seeds", str(given.seeds)]
    command = " ".join(["python -m benchmarks.rounds", *words])
    order = partial(_place, todo)
    write_section(
        Path(given.out), "rounds", section(sorted(rows, key=order), troubles, given.seconds, command)
    )
    print(f"written: {given.out}")
    return 0


def _place(todo: Sequence[Task], row: Driven) -> int:
    """Where a round stands in the list, whichever was done first."""
    names = [f"{task.yards} yards, no. {task.number}" for task in todo]
    return names.index(row.name)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="python -m benchmarks.rounds", description=__doc__)
    parser.add_argument("--rounds", nargs="+", default=list(ROUNDS), help="yards x days of trucks: 36x3")
    parser.add_argument("--number", type=int, default=1, help="number of the invented operation (1)")
    parser.add_argument("--seconds", type=float, default=10.0, help="processor time of each day (10)")
    parser.add_argument("--seeds", type=int, default=2, help="seeds, where a contestant takes one (2)")
    parser.add_argument("--jobs", type=int, default=1, help="rounds at a time, each on a core of its own (1)")
    parser.add_argument("--one", help="drive one round, stated as JSON, here")
    parser.add_argument("--out", default=str(PAGE), help="page to write the section in")
    return parser


if __name__ == "__main__":
    sys.exit(main())
