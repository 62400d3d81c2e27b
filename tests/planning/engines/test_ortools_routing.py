"""OR-Tools' routing library as a start: its routes keep the exact rules, and a count gives the same again."""

from __future__ import annotations

import pytest

from routing.planning.engines.ortools_routing import Limit, library_plans
from routing.planning.evaluate.state import INFEASIBLE, Judge
from routing.planning.run import initial_solutions as starts_module
from routing.planning.run.initial_solutions import LIBRARY_UP_TO, find_starts
from routing.planning.search.backend import PYTHON
from routing.planning.search.budget import Budget
from routing.planning.search.search import adopt
from tests.support.hand import along, scattered, visit


@pytest.mark.parametrize("seed", range(5))
def test_plans_of_the_library_are_lawful_and_cheapest_first(seed: int) -> None:
    judge = Judge(scattered(12, seed))
    plans = library_plans(judge, Limit(checks=60_000))
    assert plans
    assert [p.price for p in plans] == sorted(p.price for p in plans)
    for plan in plans:
        assert all(judge(k, stops).cost < INFEASIBLE for k, stops in enumerate(plan.routes))
        assert sorted([v for r in plan.routes for v in r if v >= 0] + sorted(plan.unserved)) == list(
            range(12)
        )


def test_a_number_of_checks_gives_the_same_plans_again() -> None:
    problem = scattered(15, 4)
    first, second = (library_plans(Judge(problem), Limit(checks=30_000)) for _ in range(2))
    assert [p.routes for p in first] == [p.routes for p in second]


def test_a_round_along_one_road_is_found_at_once() -> None:
    """Out on one side and back on the other is the shortest way: 2 x 60 km."""
    problem = along([0, 10, 60, 30, 45, 20], [visit(i + 1) for i in range(5)])
    assert library_plans(Judge(problem), Limit(checks=20_000))[0].objective == pytest.approx(120.0)


def test_routes_given_are_carried_on_from() -> None:
    problem = scattered(12, 2)
    judge = Judge(problem)
    start = adopt(judge, ((),) * 2)
    plans = library_plans(judge, Limit(checks=20_000), tuple(start.routes))
    assert all(judge(k, stops).cost < INFEASIBLE for plan in plans for k, stops in enumerate(plan.routes))
    assert plans[0].price < start.price


@pytest.mark.parametrize("visits", [12, LIBRARY_UP_TO + 5])
def test_small_days_and_large_ones_both_have_starts(visits: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """An engine's where the search is not compiled; where it is, a day by insertion takes no time."""
    problem = scattered(visits, 1)
    assert find_starts([Judge(problem)], 1, Budget(None, 40)).share == 0
    monkeypatch.setattr(starts_module, "select", lambda: PYTHON)
    starts = find_starts([Judge(problem)], 1, Budget(None, 40))
    empty = adopt(Judge(problem), ((),) * 2)
    assert starts.best.price <= empty.price * 1.2
    assert len(starts.best.unserved) < visits
    assert 0 < starts.share < 1


@pytest.mark.parametrize("visits", [1, 2])
def test_a_day_with_hardly_a_visit_ends_too(visits: int) -> None:
    problem = along([0, 10, 20], [visit(i + 1) for i in range(visits)])
    assert library_plans(Judge(problem), Limit(checks=500))
