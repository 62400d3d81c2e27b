"""State feeding days as the planner's problems: one for each choice of syrups in the tanks."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from routing.app.workflow.reach import only_reachable
from routing.domain.operation import Operation
from routing.domain.travel import Travel
from routing.files.operation.folder import read_operation
from routing.need.ration import need_of_day
from routing.need.syrup import resolve
from routing.planning.problem.build import build_days
from routing.planning.problem.problem import Problem
from routing.travel.choose import travel_for
from routing.travel.straight.straight import straight_travel
from tests.support.invented.invent import DAY, invent_operation

DEMO = Path(__file__).parents[3] / "data_demo" / "sorrel_county"
DEMO_DAY = date(2026, 9, 28)
Problems = tuple[Problem, ...]


def demo_day() -> Problems:
    """The 36 yards of the demo, on its roads."""
    operation, problems = read_operation(DEMO, day=DEMO_DAY)
    if problems:
        raise SystemExit("\n".join(str(problem) for problem in problems))
    operation = resolve(operation)
    travel = travel_for(operation, DEMO)
    return _stated(only_reachable(operation, travel), travel, DEMO_DAY)


def invented_day(seed: int, yards: int) -> Problems:
    """An invented operation's day."""
    return day_of(invent_operation(seed, yards), DAY)


def day_of(operation: Operation, day: date) -> Problems:
    """The problems of a day, drives by straight lines."""
    return _stated(operation, straight_travel(operation), day)


def _stated(operation: Operation, travel: Travel, day: date) -> Problems:
    needs = need_of_day(operation, day)
    return tuple(d.problem for d in build_days(operation, travel, day, needs))
