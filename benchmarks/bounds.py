"""Hold plans against the lower bound: the gap after some seconds, day by day; a section of the page.

python -m benchmarks.bounds --seconds 10 --plan-seconds 10
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from statistics import median

from benchmarks.common.machine import prepare
from benchmarks.common.measure import setting
from benchmarks.common.page import PAGE, table, write_section
from routing.app.workflow.reach import only_reachable
from routing.files.operation.folder import read_operation
from routing.need.ration import need_of_day
from routing.need.syrup import resolve
from routing.planning.bound.lower_bound import lower_bound
from routing.planning.problem.build import Day, build_days, envelope
from routing.planning.run.worker import Job, work
from routing.travel.choose import travel_for
from routing.travel.straight.straight import straight_travel
from tests.support.invented.days import DEMO, DEMO_DAY
from tests.support.invented.invent import DAY, invent_operation

SIZES = (12, 20, 36, 40, 60, 120, 300)
MARKS_S = (1.0, 3.0, 10.0)
INTRODUCTION = """\
## Plans against the lower bound

No plan of the day can be cheaper than the bound. Each day is planned by one worker for {plan_seconds:g} s,
then bounded for {seconds:g} s, whatever its free tanks may carry. *Gap*: per cent of the plan's price between
the bound and the plan, median over the days of a size. Syrup is in neither: it costs the same in every plan.
"""
FOLDERS = {"demo": (DEMO, DEMO_DAY), "night": (DEMO.parent / "saltbush_night", date(2026, 4, 14))}


@dataclass(frozen=True)
class Held:
    """One day: the plan's price, the bound at the end, and (seconds, bound) of every bound told."""

    name: str
    visits: int
    trucks: int
    price: float
    bound: float
    told: tuple[tuple[float, float], ...]

    def gap(self, seconds: float = float("inf")) -> float:
        """Per cent of the price between the bound known after some seconds and the price."""
        known = max((value for at, value in self.told if at <= seconds), default=0.0)
        return 100.0 * (1.0 - known / self.price) if self.price else 0.0

    @property
    def took_s(self) -> float:
        """When the last bound was told."""
        return self.told[-1][0] if self.told else 0.0

    @property
    def above(self) -> bool:
        """Whether the bound is above the plan: then it is none."""
        return self.bound > self.price * (1 + 1e-9)


def hold(name: str, days: Sequence[Day], plan_seconds: float, seconds: float) -> Held:
    """Plan a day with one worker, then bound it whatever its free tanks may carry."""
    found = work(Job(tuple(d.problem for d in days), 1, plan_seconds, None), lambda _: None)
    wholes = envelope(days)
    bounds, told = [], []
    began = time.monotonic()
    for number, whole in enumerate(wholes, start=1):
        until = began + seconds * number / len(wholes)
        heard: list[tuple[float, float]] = []
        bounds.append(
            lower_bound(
                whole,
                found.price,
                lambda until=until: 1.0 if time.monotonic() >= until else 0.0,  # type: ignore[misc]
                lambda value, heard=heard: heard.append((time.monotonic() - began, value)),  # type: ignore[misc]
                found.solution if whole.visits == days[found.variant].problem.visits else None,
            )
        )
        told.append(heard)
    least = min(range(len(bounds)), key=lambda at: bounds[at])
    problem = days[found.variant].problem
    return Held(
        name, len(problem.visits), len(problem.trucks), found.price, bounds[least], tuple(told[least])
    )


def _folder(path: Path, day: date) -> list[Day]:
    operation, problems = read_operation(path, day=day)
    if problems:
        raise SystemExit("\n".join(str(problem) for problem in problems))
    operation = resolve(operation)
    travel = travel_for(operation, path)
    operation = only_reachable(operation, travel)
    return build_days(operation, travel, day, need_of_day(operation, day))


def _all_days(sizes: Sequence[int], seeds: int, folders: Sequence[str]) -> Iterator[tuple[str, list[Day]]]:
    for yards in sizes:
        for seed in range(1, seeds + 1):
            operation = invent_operation(seed, yards)
            needs = need_of_day(operation, DAY)
            yield f"{yards} yards, no. {seed}", build_days(operation, straight_travel(operation), DAY, needs)
    for name in folders:
        yield name, _folder(*FOLDERS[name])


def section(found: Sequence[Held], seconds: float, plan_seconds: float, command: str) -> list[str]:
    """The section's lines: medians over the days of a size."""
    marks = [s for s in MARKS_S if s < seconds] + [seconds]
    lines = [INTRODUCTION.format(seconds=seconds, plan_seconds=plan_seconds)]
    lines += [f"`{command}`, {date.today().isoformat()}. {setting()}", ""]
    cells = [["days", "how many", "visits", "trucks", *(f"gap at {s:g} s, %" for s in marks), "worst, %"]]
    for size, some in _by_size(found).items():
        gaps = [f"{median(held.gap(s) for held in some):.1f}" for s in marks[:-1]]
        gaps += [f"{median(held.gap() for held in some):.1f}", f"{max(held.gap() for held in some):.1f}"]
        visits, trucks = median(h.visits for h in some), median(h.trucks for h in some)
        cells.append([size, str(len(some)), f"{visits:g}", f"{trucks:g}", *gaps])
    above = [f"- {held.name}: the bound is ABOVE the plan" for held in found if held.above]
    return [*lines, *table(cells), *above]


def _by_size(found: Sequence[Held]) -> dict[str, list[Held]]:
    some: dict[str, list[Held]] = {}
    for held in found:
        some.setdefault(held.name.partition(",")[0], []).append(held)
    return some


def main(arguments: list[str] | None = None) -> int:
    """Print a line for each day and write the section."""
    given = _parser().parse_args(arguments)
    prepare()
    found = []
    for name, days in _all_days(given.sizes, given.seeds, given.folders):
        held = hold(name, days, given.plan_seconds, given.seconds)
        marks = ", ".join(f"{held.gap(s):.1f} % at {s:g} s" for s in MARKS_S if s < given.seconds)
        print(
            f"{name}: {held.visits} visits, {held.trucks} trucks, price {held.price:.1f}, "
            f"bound {held.bound:.1f}, gap {held.gap():.1f} % at {held.took_s:.1f} s ({marks})"
            f"{' ABOVE THE PLAN' if held.above else ''}",
            flush=True,
        )
        found.append(held)
    words = [
        f"--seconds {given.seconds:g}",
        f"--plan-seconds {given.plan_seconds:g}",
        f"--seeds {given.seeds}",
    ]
    command = " ".join(["python -m benchmarks.bounds", *words])
    write_section(Path(given.out), "bounds", section(found, given.seconds, given.plan_seconds, command))
    return 0


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--seconds", type=float, default=10.0, help="for the bound")
    parser.add_argument("--plan-seconds", type=float, default=10.0, help="for the plan, one worker")
    parser.add_argument("--sizes", type=int, nargs="*", default=list(SIZES), help="yards of invented days")
    parser.add_argument("--seeds", type=int, default=3, help="invented days of each size")
    parser.add_argument("--folders", nargs="*", default=list(FOLDERS), choices=list(FOLDERS))
    parser.add_argument("--out", default=str(PAGE), help="page to write the section in")
    return parser


if __name__ == "__main__":
    sys.exit(main())
