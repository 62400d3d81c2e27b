"""A crew's numbers stay what they were when the rest of the day is planned anew."""

from __future__ import annotations

from dataclasses import replace

from routing.domain.plan import Plan
from routing.planning.replan.numbers import numbered
from tests.support.builders import small_case

BEFORE = small_case().plan


def rest(*places: str) -> Plan:
    """A plan in which the first truck visits some yards in some order."""
    route = BEFORE.routes[0]
    yards = {s.place_id: s for r in BEFORE.routes for s in r.stops if s.kind == "yard"}
    stops = (route.stops[0], *(yards[place] for place in places), route.stops[-1])
    return replace(BEFORE, routes=(replace(route, stops=stops),))


def numbers(plan: Plan) -> list[int]:
    return [stop.number for stop in plan.routes[0].stops if stop.kind == "yard"]


def order() -> list[str]:
    return [stop.place_id for stop in BEFORE.routes[0].stops if stop.kind == "yard"]


def test_stops_that_are_left_keep_their_numbers_in_any_order() -> None:
    first, second, third, *_ = order()
    assert numbers(numbered(rest(third, second), BEFORE)) == [3, 2]
    assert numbers(numbered(rest(first), BEFORE)) == [1]


def test_a_new_stop_takes_a_number_that_no_stop_of_the_truck_has_had() -> None:
    own = order()
    new = next(s.place_id for s in BEFORE.routes[1].stops if s.kind == "yard")
    assert numbers(numbered(rest(own[-1], new), BEFORE)) == [len(own), len(own) + 1]


def test_a_second_re_plan_goes_on_from_the_numbers_of_the_first() -> None:
    own = order()
    new = next(s.place_id for s in BEFORE.routes[1].stops if s.kind == "yard")
    once = numbered(rest(own[-1], new), BEFORE)
    assert numbers(numbered(rest(new), once)) == [len(own) + 1]


def test_a_stop_away_from_the_yards_has_no_number() -> None:
    plan = numbered(rest(*order()), BEFORE)
    assert {s.number for s in plan.routes[0].stops if s.kind != "yard"} == {0}
