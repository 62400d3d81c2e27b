"""What the routing engine can state to the last, and what it only comes near to."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from routing.planning.engines.pyvrp_fit import states_all
from routing.planning.problem.problem import Problem, Supply
from tests.support.hand import along, depot, truck, visit
from tests.support.instances.to_problem import to_problem
from tests.support.instances.typed_in import e_n13_k4, several_trips, split_ring
from tests.support.invented.days import invented_day

AT_ONCE = Supply(float("inf"))


def plain(**more: Any) -> Problem:
    return along([0, 10], [visit(1)], [truck(break_s=0)], [depot(supplies=(AT_ONCE,))], **more)


def test_published_problems_are_stated_to_the_last() -> None:
    for instance in (e_n13_k4(), several_trips(e_n13_k4(), 2, 400), split_ring(4, 2, (20, 10))):
        assert states_all(to_problem(instance))


def test_a_feeding_day_is_not() -> None:
    assert not states_all(invented_day(1, 12)[0])


@pytest.mark.parametrize(
    "truck_has",
    [
        {"break_s": 1800},
        {"fuel_price": 1.0, "fuel_per_g": 1e-9},
        {"fuel_price": 1.0, "idle_l_per_s": 1e-3},
        {"driving_s": 8 * 3600},
        {"level_ml": (1000,)},
        {"on_the_clock": True},
    ],
)
def test_what_binds_a_truck_and_the_engine_does_not_know(truck_has: dict[str, Any]) -> None:
    day = plain()
    assert states_all(day)
    assert not states_all(replace(day, trucks=(replace(day.trucks[0], **truck_has),)))


@pytest.mark.parametrize(
    "supply", [Supply(1000.0), Supply(float("inf"), 10**6), Supply(float("inf"), None, 60)]
)
def test_filling_by_amount_stock_and_late_deliveries_are_not_known_to_it(supply: Supply) -> None:
    day = plain()
    assert not states_all(replace(day, depots=(replace(day.depots[0], supplies=(supply,)),)))


@pytest.mark.parametrize("visit_has", [{"max_gross_g": 7_000_000}, {"pails": (3,), "pail_ml": (3000,)}])
def test_weak_bridges_and_pails_are_not_known_to_it(visit_has: dict[str, Any]) -> None:
    day = plain()
    assert not states_all(replace(day, visits=(replace(day.visits[0], **visit_has),)))


def test_balance_and_health_are_not_known_to_it() -> None:
    day = plain()
    assert not states_all(replace(day, balance_per_s=0.01))
    ill = replace(day.visits[0], rank=2)
    assert not states_all(replace(day, visits=(*day.visits, ill)))
    pumped = replace(day.trucks[0], pump_ml_s=100.0)
    assert not states_all(replace(day, trucks=(*day.trucks, pumped)))
