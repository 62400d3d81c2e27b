"""Plan the rest of a day from where it stands, changing as little as pays for the drivers."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from routing.domain.day import DayNow
from routing.domain.errors import NoPlanError
from routing.domain.operation import Operation
from routing.domain.plan import Plan, Route
from routing.domain.travel import Travel
from routing.planning.build import Day, build_days
from routing.planning.changes import changes_between
from routing.planning.day import write_day
from routing.planning.habit import Habit
from routing.planning.problem import Stops, depot_stop
from routing.planning.rest_of_day import RestOfDay, rest_of_day
from routing.planning.solve import Progress, SolveOptions, solve


@dataclass(frozen=True)
class Replanned:
    """A plan for the rest of the day, with the smaller operation and travel table it is judged by."""

    rest: RestOfDay
    plan: Plan


def replan(
    operation: Operation,
    travel: Travel,
    before: Plan,
    now: DayNow,
    search: SolveOptions,
    on_progress: Callable[[Progress], None] | None = None,
) -> Replanned:
    """The best plan found for the rest of the day; not yet audited, without id.

    Raises NoPlanError when no truck can go on.
    """
    rest = rest_of_day(operation, travel, now)
    if not rest.operation.trucks:
        raise NoPlanError("no truck can go on: all are out of action, finished, or past their shift")
    days = build_days(rest.operation, rest.travel, now.day, rest.needs)
    rates = operation.cost
    days = [_with_habit(d, Habit(_told(d, before), rates.moved_stop, rates.changed_order)) for d in days]
    outcome = solve([d.problem for d in days], search, on_progress)
    plan = write_day(days[outcome.variant], outcome, search)
    heading = {t.truck_id: t.heading for t in now.trucks.values() if t.heading}
    left = set(rest.operation.yards)
    changes = changes_between(operation, before, plan, heading, left)
    return Replanned(rest, replace(plan, replaces=before.plan_id, changes=changes))


def _with_habit(day: Day, habit: Habit) -> Day:
    return replace(day, problem=replace(day.problem, habit=habit))


def _told(day: Day, before: Plan) -> tuple[Stops, ...]:
    """What each truck was to do next by the plan that was driven: visits that are left, and refills."""
    waiting: dict[str, list[int]] = {}
    for visit, (need, _) in enumerate(day.pieces):
        waiting.setdefault(need.yard_id, []).append(visit)
    routes = {route.truck_id: route for route in before.routes}
    return tuple(
        _remaining(day, routes[truck.truck_id], waiting) if truck.truck_id in routes else ()
        for truck in day.trucks
    )


def _remaining(day: Day, route: Route, waiting: dict[str, list[int]]) -> Stops:
    number = {depot.depot_id: d for d, depot in enumerate(day.depots)}
    stops: list[int] = []
    for stop in route.stops:
        if stop.kind == "yard" and waiting.get(stop.place_id):
            stops.append(waiting[stop.place_id].pop(0))
        elif stop.kind == "refill" and stops and stop.place_id in number:
            stops.append(depot_stop(number[stop.place_id]))
    return tuple(stops)
