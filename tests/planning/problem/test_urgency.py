"""Yards that run out before they can be fed next are fed before yards with plenty."""

from __future__ import annotations

from dataclasses import replace

import pytest

from routing.domain.places import Priority
from routing.domain.plan import Plan
from routing.domain.ration import YardNeed
from routing.domain.settings import FeedingSettings, ShiftSettings, TravelSettings
from routing.travel.straight.straight import straight_travel
from tests.support.any_day import plan_here
from tests.support.trade import DAY, HOUR, need, operation, yard

WEEK_AND_A_HALF = FeedingSettings(syrup_id="S67", margin=0.0, next_visit_days=10.0)
HALF_A_DAY = ShiftSettings(max_s=5 * HOUR, overtime_s=0, break_s=0)


def planned(needs: list[YardNeed], priority: dict[str, Priority] | None = None) -> Plan:
    """Half a day with time for about half of the yards; those listed first lie nearest."""
    yards = [
        replace(yard(n.yard_id, km=8.0 + 3 * i), priority=(priority or {}).get(n.yard_id, Priority.NORMAL))
        for i, n in enumerate(needs)
    ]
    op = operation(yards, feeding=WEEK_AND_A_HALF, shift=HALF_A_DAY, travel=TravelSettings(circuity=1.3))
    return plan_here(op, straight_travel(op), DAY, needs=needs, iterations=150)


def left(plan: Plan) -> set[str]:
    return {u.yard_id for u in plan.unserved}


def test_yards_with_nine_days_of_stores_go_before_those_with_46_and_61() -> None:
    """The next visit is in ten days: what is left now runs out before it."""
    plenty = [need(f"P{i}", days_of_stores=46.0 + 15.0 * (i % 2)) for i in range(4)]
    short = [need(f"S{i}", days_of_stores=9.0) for i in range(4)]
    plan = planned([*plenty, *short])
    assert left(plan)
    assert not left(plan) & {n.yard_id for n in short}


@pytest.mark.parametrize("priority", [Priority.HIGH, Priority.MUST])
def test_a_yard_that_the_keeper_put_first_is_fed_though_it_lies_farthest(priority: Priority) -> None:
    needs = [need(f"Y{i}", days_of_stores=40.0) for i in range(8)]
    assert "Y7" in left(planned(needs))
    wanted = [*needs[:-1], replace(needs[-1], must=priority is Priority.MUST)]
    assert "Y7" not in left(planned(wanted, {"Y7": priority}))


def test_a_yard_of_low_priority_waits_though_it_lies_nearest() -> None:
    needs = [need(f"Y{i}", days_of_stores=40.0) for i in range(8)]
    assert "Y0" not in left(planned(needs))
    assert "Y0" in left(planned(needs, {"Y0": Priority.LOW}))
