"""Plan the rest of a day from where it stands, changing as little as pays for the drivers."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from routing.domain.errors import NoPlanError
from routing.domain.operation import Operation
from routing.domain.plan import Plan, Route
from routing.domain.travel import Travel
from routing.log.day import DayNow
from routing.planning.evaluate.schedule import time_route
from routing.planning.evaluate.state import Judge
from routing.planning.problem.build import Day, build_days, envelope
from routing.planning.problem.problem import Problem, Stops, depot_stop
from routing.planning.problem.stability import Habit
from routing.planning.replan.cautions import day_cautions
from routing.planning.replan.changes import changes_between
from routing.planning.replan.difference import difference
from routing.planning.replan.remaining_day import (
    DayInProgress,
    RemainingDay,
    remaining_day,
    spent_here_s,
    with_trucks,
)
from routing.planning.run.interrupts import forgiving, searched
from routing.planning.run.prepare import not_prepared
from routing.planning.run.solve import Outcome, Progress, SolveOptions, solve
from routing.planning.search.search import adopt


@dataclass(frozen=True)
class Replanned:
    """A plan for the rest of the day, with the smaller operation and travel table it is judged by."""

    remaining: RemainingDay
    plan: Plan


def replan(
    operation: Operation,
    travel: Travel,
    before: Plan,
    state: DayNow,
    search: SolveOptions,
    on_progress: Callable[[Progress], None] | None = None,
) -> Replanned:
    """The best plan found for the rest of the day; not yet audited, without id.

    Raises NoPlanError when no truck can go on.
    """
    day = DayInProgress(operation, travel, state, before)
    remaining = remaining_day(day)
    with forgiving():
        plan, outcome = _plan(remaining, before, state, search, on_progress)
        if leaving := _leaving(plan, before, state):
            # They do not finish what they are at: what they did there so far gives them no head start.
            remaining = with_trucks(day, remaining, leaving)
            kept = outcome if outcome.stopped else None
            plan, _ = _plan(remaining, before, state, search, on_progress, kept)
    searched()
    return Replanned(remaining, worded_remaining(operation, remaining, before, state, plan))


def worded_remaining(
    operation: Operation, remaining: RemainingDay, before: Plan, state: DayNow, plan: Plan
) -> Plan:
    """The plan of the rest of a day with its words, and with what it changes of the plan it replaces."""
    from routing.planning.plan.words import worded

    changes = changes_between(operation, before, plan, state, set(remaining.operation.yards))
    costs = difference(operation, before, plan, state)
    plan = day_cautions(operation, remaining.needs, state, worded(remaining.operation, remaining.needs, plan))
    return replace(plan, replaces=before.plan_id, changes=changes, difference=costs)


def _plan(
    remaining: RemainingDay,
    before: Plan,
    state: DayNow,
    search: SolveOptions,
    on_progress: Callable[[Progress], None] | None,
    kept: Outcome | None = None,
) -> tuple[Plan, Outcome]:
    """The best plan found, and what the search said; ``kept``: a plan that is only to be timed anew."""
    if not any(truck.available_on(state.day) for truck in remaining.operation.trucks.values()):
        raise NoPlanError("no truck can go on: all are out of action, finished, or past their shift")
    days = build_days(remaining.operation, remaining.travel, state.day, remaining.needs)
    problems = [_with_stability(day, before, state) for day in days]
    outcome = solve(problems, search, on_progress, envelope(days)) if kept is None else _again(problems, kept)
    outcome = replace(outcome, troubles=tuple(dict.fromkeys((*not_prepared(), *outcome.troubles))))
    # The first answer does not wait for what only the written plan needs.
    from routing.planning.plan.day import write_day

    # Written from the day as it is: what drivers were told before is no reason to leave a yard.
    return write_day(days[outcome.variant], outcome, search), outcome


def _again(problems: list[Problem], kept: Outcome) -> Outcome:
    """A plan that was found for the day as it stood a moment ago, as far as it still holds."""
    state = adopt(Judge(problems[kept.variant]), kept.solution.routes)
    return Outcome(kept.variant, state.solution(), kept.troubles, stopped=True)


def _leaving(plan: Plan, before: Plan, state: DayNow) -> frozenset[str]:
    """Trucks that by the plan have left the place where they now stand at work."""
    found = set()
    for route in plan.routes:
        first = route.stops[0]
        # A crew that rests before all else leaves its work for it.
        if len(route.stops) > 1 and not route.stops[1].leg.drive_s and route.stops[1].kind != "break":
            first = route.stops[1]
        late_s = (state.now - first.leave).total_seconds()
        if late_s >= 1 and spent_here_s(route.truck_id, state, before):
            found.add(route.truck_id)
    return frozenset(found)


def _with_stability(day: Day, before: Plan, state: DayNow) -> Problem:
    """The problem with the price of telling the drivers otherwise.

    A truck goes on to the yard it drives to (or stands in) unless that is impossible or keeps a starving
    yard from being fed: leaving that yard, or going elsewhere first, costs half of leaving one unfed.
    """
    problem, planned = day.problem, _planned_stops(day, before)
    turned = problem.dear / 2
    at: dict[str | None, list[int]] = {}
    for v, (need, _) in enumerate(day.pieces):
        at.setdefault(f"yard:{need.yard_id}", []).append(v)
    heading = [state.trucks[truck.truck_id].heading if truck.underway else None for truck in day.trucks]
    # Where it can feed no more (the gate shuts, syrup is gone) nothing is lost by going elsewhere.
    there = tuple(
        frozenset(v for v in at.get(key, ()) if time_route(problem, truck, (v,)).fault is None)
        for truck, key in enumerate(heading)
    )
    next_up = {
        next((v for v in stops if v in some), min(some))
        for some, stops in zip(there, planned, strict=True)
        if some
    }
    costs = day.operation.cost
    known = {v for stops in planned for v in stops if v >= 0}
    # A yard that is left out was told to somebody, as one that goes to another truck was.
    visits = tuple(
        replace(visit, value=visit.value + costs.moved_stop * (v in known) + turned * (v in next_up))
        for v, visit in enumerate(problem.visits)
    )
    habit = Habit(planned, costs.moved_stop, costs.changed_order, there, turned)
    return replace(problem, visits=visits, habit=habit)


def _planned_stops(day: Day, before: Plan) -> tuple[Stops, ...]:
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
