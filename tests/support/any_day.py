"""Plan a day in this very process, so that many days take little time and a failure shows where it is."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date

import pytest

from routing.domain.operation import Operation
from routing.domain.plan import Plan
from routing.domain.ration import YardNeed
from routing.domain.travel import Travel
from routing.need.ration import need_of_day
from routing.planning.evaluate.state import Judge
from routing.planning.plan import day as day_module
from routing.planning.plan.day import DayOptions, plan_day
from routing.planning.problem.problem import Problem
from routing.planning.run.solve import Outcome, Progress, SolveOptions
from routing.planning.run.worker import Job, work
from routing.planning.search.search import adopt


def solve_here(
    problems: Sequence[Problem],
    options: SolveOptions,
    on_progress: Callable[[Progress], None] | None = None,
    bounded: Sequence[Problem] = (),
) -> Outcome:
    """What ``solve`` does, without a process of its own."""
    if not problems[0].visits or not problems[0].trucks:
        return Outcome(0, adopt(Judge(problems[0]), ((),) * len(problems[0].trucks)).solution())
    found = work(Job(tuple(problems), options.seed, None, options.iterations), lambda found: None)
    return Outcome(found.variant, found.solution)


def plan_here(
    operation: Operation,
    travel: Travel,
    day: date,
    iterations: int = 40,
    needs: Sequence[YardNeed] | None = None,
    trucks: tuple[str, ...] | None = None,
    must: tuple[str, ...] = (),
) -> Plan:
    """A plan for a date; not audited."""
    asked = need_of_day(operation, day) if needs is None else needs
    options = DayOptions(trucks, SolveOptions(None, iterations), must)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(day_module, "solve", solve_here)
        return plan_day(operation, travel, asked, day, options)
