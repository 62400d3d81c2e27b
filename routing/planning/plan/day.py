"""Plan one day: state it, search, explain what is left, and write the plan."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from importlib.metadata import version
from math import inf

from routing.domain.errors import NoPlanError
from routing.domain.operation import Operation
from routing.domain.plan import Bound, Engine, Plan, Warning_
from routing.domain.ration import YardNeed
from routing.domain.travel import Travel
from routing.planning.machine_code.code_folder import ready
from routing.planning.plan.assemble import write_plan
from routing.planning.plan.reasons import unserved_yards
from routing.planning.plan.words import worded
from routing.planning.problem.build import Day, build_days, envelope
from routing.planning.run.interrupts import searched
from routing.planning.run.prepare import prepare
from routing.planning.run.solve import Outcome, Progress, SolveOptions, solve


@dataclass(frozen=True)
class DayOptions:
    """What to plan with: which trucks (None: all that are available) and how long to search.

    ``must``: yards that are to be fed today like starving ones.
    """

    trucks: tuple[str, ...] | None = None
    search: SolveOptions = field(default_factory=SolveOptions)
    must: tuple[str, ...] = ()


def plan_day(
    operation: Operation,
    travel: Travel,
    needs: Sequence[YardNeed],
    day: date,
    options: DayOptions,
    on_progress: Callable[[Progress], None] | None = None,
) -> Plan:
    """The best plan found for a date; not yet audited, without id.

    Raises NoPlanError when no truck is to be had.
    """
    asked = frozenset(options.must)
    needs = tuple(replace(need, must=need.must or need.yard_id in asked) for need in needs)
    days = build_days(operation, travel, day, needs, options.trucks)
    if not days[0].trucks:
        raise NoPlanError(
            f"no truck is available on {day.isoformat()}: see 'available' in trucks.csv, or --trucks"
        )
    troubles = prepare(on_progress)
    outcome = solve([d.problem for d in days], options.search, on_progress, envelope(days))
    searched()
    outcome = replace(outcome, troubles=(*troubles, *outcome.troubles))
    return write_day(days[outcome.variant], outcome, options.search, options.must)


def write_day(day: Day, outcome: Outcome, search: SolveOptions, must: tuple[str, ...] = ()) -> Plan:
    """The plan of a search's outcome, with reasons and cautions; ``must``: yards that were asked for."""
    plan = write_plan(
        day,
        outcome.solution,
        unserved_yards(day, outcome.solution),
        Engine(_name(), version("feedround"), search.seconds, search.iterations),
        search.seed,
        warnings=[Warning_("engine", text) for text in outcome.troubles],
    )
    plan = replace(plan, must=must, totals=replace(plan.totals, bound=_bound(plan, outcome)))
    return worded(day.operation, day.needs, plan)


def _name() -> str:
    """What searched: by iterations the same search gives the same plan."""
    return "feedround: exact search, " + ("compiled" if ready() else "plain, with PyVRP and OR-Tools")


def _bound(plan: Plan, outcome: Outcome) -> Bound | None:
    """The bound in the plan's own terms: with the syrup of the whole day, poured or left for another."""
    objective = plan.totals.objective
    syrup = objective.parts["syrup"] + sum(u.syrup_cost for u in plan.unserved if u.volume_l > 0)
    low = min(outcome.bound + syrup, objective.total)
    if outcome.bound == -inf or low <= 0 or objective.total <= 0:
        return None
    gap = (objective.total - low) / objective.total
    return Bound(low, gap, outcome.proved, outcome.method)
