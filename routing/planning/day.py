"""Plan one day: state it, search, explain what is left, and write the plan."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import date
from importlib.metadata import version

from routing.domain.errors import NoPlanError
from routing.domain.operation import Operation
from routing.domain.plan import Engine, Plan, Warning_
from routing.domain.ration import YardNeed
from routing.domain.travel import Travel
from routing.planning.assemble import write_plan
from routing.planning.build import build_days
from routing.planning.cautions import plan_cautions
from routing.planning.reasons import unserved_yards
from routing.planning.solve import Progress, SolveOptions, solve


@dataclass(frozen=True)
class DayOptions:
    """What to plan with: which trucks (None: all that are available) and how long to search."""

    trucks: tuple[str, ...] | None = None
    search: SolveOptions = field(default_factory=SolveOptions)


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
    days = build_days(operation, travel, day, needs, options.trucks)
    if not days[0].trucks:
        raise NoPlanError(
            f"no truck is available on {day.isoformat()}: see 'available' in trucks.csv, or --trucks"
        )
    outcome = solve([d.problem for d in days], options.search, on_progress)
    chosen = days[outcome.variant]
    unserved = unserved_yards(chosen, outcome.solution)
    troubles = [Warning_("engine", text) for text in outcome.troubles]
    search = options.search
    plan = write_plan(
        chosen,
        outcome.solution,
        unserved,
        Engine(
            "feedround with PyVRP and exact search", version("feedround"), search.seconds, search.iterations
        ),
        search.seed,
        warnings=troubles,
    )
    return plan_cautions(operation, needs, plan)
