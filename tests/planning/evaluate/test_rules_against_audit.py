"""The rules hold a route for lawful if and only if the audit, which shares nothing with them, agrees."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import replace

import pytest

from routing.audit import audit
from routing.domain.plan import Engine
from routing.need.ration import need_of_day
from routing.planning.evaluate.loads import Fault
from routing.planning.evaluate.state import INFEASIBLE, Judge, State
from routing.planning.plan.assemble import write_plan
from routing.planning.plan.reasons import unserved_yards
from routing.planning.problem.build import Day, build_days
from routing.planning.problem.problem import FOREVER, Problem, Solution, Stops, depot_stop
from tests.support.any_operation import any_operation

OPERATIONS = range(0, 160)
ROUTES = 20
ENDLESS_S = 10**7
OF_THE_DAY = {"starving_dropped", "caution_missing"}
"""What the audit finds in a plan of one route, however lawful: others starve, and no caution is written."""


def _trucks(problem: Problem, **to: object) -> Problem:
    return replace(problem, trucks=tuple(replace(t, **to) for t in problem.trucks))


def _visits(problem: Problem, **to: object) -> Problem:
    return replace(problem, visits=tuple(replace(v, **to) for v in problem.visits))


def _hours(problem: Problem) -> Problem:
    return _trucks(problem, ordinary_s=ENDLESS_S, latest_s=ENDLESS_S, break_s=0)


def _gates(problem: Problem) -> Problem:
    depots = tuple(replace(d, windows=FOREVER) for d in problem.depots)
    return _hours(replace(_visits(problem, windows=FOREVER, begin=FOREVER, release_s=0), depots=depots))


WITHOUT: dict[Fault, Callable[[Problem], Problem]] = {
    Fault.WEIGHT: lambda p: _trucks(p, gross_g=10**12),
    Fault.GATE_WEIGHT: lambda p: _visits(p, max_gross_g=None),
    Fault.SLOTS: lambda p: _trucks(p, pail_slots=10**6),
    Fault.HYGIENE: lambda p: _visits(p, rank=0),
    Fault.ACCESS: lambda p: _visits(p, trucks=None),
    Fault.DRIVING: lambda p: _trucks(p, driving_s=ENDLESS_S),
    Fault.BREAK: lambda p: _trucks(p, break_s=0),
    Fault.SHIFT: _hours,
    Fault.WINDOW: _gates,
}
"""The same day without a rule: what is planned there must be found by the audit."""


def days() -> Sequence[tuple[int, Day]]:
    found = []
    for seed in OPERATIONS:
        operation, travel, day = any_operation(seed)
        made = build_days(operation, travel, day, need_of_day(operation, day))[0]
        if made.trucks and made.problem.visits:
            found.append((seed, made))
    return found


def chance_route(problem: Problem, rng: random.Random) -> tuple[int, Stops]:
    """Some visits in any order, with calls among them."""
    truck = rng.randrange(len(problem.trucks))
    stops = rng.sample(range(len(problem.visits)), min(len(problem.visits), rng.randint(1, 4)))
    for _ in range(rng.choice((0, 0, 1, 2))):
        stops.insert(rng.randint(0, len(stops)), depot_stop(rng.randrange(len(problem.depots))))
    return truck, tuple(stops)


def findings(day: Day, problem: Problem, truck: int, stops: Stops) -> list[str]:
    """What the audit finds in a plan of one route, planned by the rules of a problem."""
    routes: list[Stops] = [()] * len(problem.trucks)
    routes[truck] = stops
    left = tuple(v for v in range(len(problem.visits)) if v not in stops)
    solution = Solution(tuple(routes), left, 0.0)
    unserved = unserved_yards(day, solution)
    plan = write_plan(replace(day, problem=problem), solution, unserved, Engine("hand", "1", None, 1), 1)
    found = audit(day.operation, day.travel, plan).findings
    return [finding.code for finding in found if finding.code not in OF_THE_DAY]


@pytest.mark.parametrize("part", range(4))
def test_a_route_is_lawful_if_and_only_if_the_audit_finds_nothing(part: int) -> None:
    met: Counter[Fault | None] = Counter()
    for seed, day in days()[part::4]:
        rng, judge = random.Random(seed), Judge(day.problem)
        for _ in range(ROUTES):
            truck, stops = chance_route(day.problem, rng)
            broken = judge(truck, stops).fault
            out_of_stock = State(judge).route_cost(truck, stops) == INFEASIBLE
            fault = broken or (Fault.STOCK if out_of_stock else None)
            problem = day.problem
            for _ in range(4):
                if broken not in WITHOUT:
                    break
                problem = WITHOUT[broken](problem)
                broken = Judge(problem)(truck, stops).fault
            if broken is not None:
                continue  # Nothing can be planned with too small a tank, or without supply.
            found = findings(day, problem, truck, stops)
            assert bool(found) == (fault is not None), (seed, truck, stops, fault, found)
            met[fault] += 1
    assert met[None] > 20
    assert len(met) > 3, met
