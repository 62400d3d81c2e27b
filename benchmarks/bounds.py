"""Hold plans against the lower bound: the gap after some seconds, day by day.

python -m benchmarks.bounds --seconds 10 --plan-seconds 10
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from statistics import median

from benchmarks.feeding.days import DEMO, DEMO_DAY
from benchmarks.feeding.invent import DAY, invent_operation
from routing.app.reach import only_reachable
from routing.files.operation_folder import read_operation
from routing.need.ration import need_of_day
from routing.need.syrup import resolve
from routing.planning.bound import lower_bound
from routing.planning.build import Day, build_days, envelope
from routing.planning.worker import Job, work
from routing.travel.choose import travel_for
from routing.travel.straight import straight_travel

SIZES = (12, 20, 36, 40, 60, 120, 300)
MARKS_S = (1.0, 3.0, 10.0)
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
        return self.told[-1][0]


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


def main() -> None:
    """Print a line for each day and the median gap of each size."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--seconds", type=float, default=10.0, help="for the bound")
    parser.add_argument("--plan-seconds", type=float, default=10.0, help="for the plan, one worker")
    parser.add_argument("--sizes", type=int, nargs="*", default=list(SIZES), help="yards of invented days")
    parser.add_argument("--seeds", type=int, default=3, help="invented days of each size")
    parser.add_argument("--folders", nargs="*", default=list(FOLDERS), choices=list(FOLDERS))
    options = parser.parse_args()
    gaps: dict[str, list[float]] = {}
    for name, days in _all_days(options.sizes, options.seeds, options.folders):
        held = hold(name, days, options.plan_seconds, options.seconds)
        marks = ", ".join(f"{held.gap(s):.1f} % at {s:g} s" for s in MARKS_S if s < options.seconds)
        above = " ABOVE THE PLAN" if held.bound > held.price * (1 + 1e-9) else ""
        print(
            f"{name}: {held.visits} visits, {held.trucks} trucks, price {held.price:.1f}, "
            f"bound {held.bound:.1f}, gap {held.gap():.1f} % at {held.took_s:.1f} s ({marks}){above}",
            flush=True,
        )
        gaps.setdefault(name.partition(",")[0], []).append(held.gap())
    for size, some in gaps.items():
        print(f"{size}: median gap {median(some):.1f} %, worst {max(some):.1f} %")


if __name__ == "__main__":
    main()
