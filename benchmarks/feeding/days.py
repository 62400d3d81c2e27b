"""State feeding days as the planner's problems: one for each choice of syrups in the tanks."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from benchmarks.feeding.invent import DAY, invent_operation
from routing.domain.operation import Operation
from routing.files.operation_folder import read_operation
from routing.need.ration import need_of_day
from routing.need.syrup import resolve
from routing.planning.build import build_days
from routing.planning.problem import Problem
from routing.travel.straight import straight_travel

DEMO = Path(__file__).parents[2] / "data_demo" / "sorrel_county"
DEMO_DAY = date(2026, 9, 28)
Problems = tuple[Problem, ...]


def demo_day() -> Problems:
    """The 36 yards of the demo."""
    operation, problems = read_operation(DEMO, day=DEMO_DAY)
    if problems:
        raise SystemExit("\n".join(str(problem) for problem in problems))
    return day_of(resolve(operation), DEMO_DAY)


def invented_day(seed: int, yards: int) -> Problems:
    """An invented operation's day."""
    return day_of(invent_operation(seed, yards), DAY)


def day_of(operation: Operation, day: date) -> Problems:
    """The problems of a day, drives by straight lines."""
    needs = need_of_day(operation, day)
    return tuple(d.problem for d in build_days(operation, straight_travel(operation), day, needs))
