"""The plan says why a yard with little in store is left while one with plenty is fed."""

from __future__ import annotations

from routing.domain.plan import Unserved
from routing.domain.ration import YardNeed
from routing.domain.settings import CostSettings, FeedingSettings, ShiftSettings, TravelSettings
from routing.travel.straight.straight import straight_travel
from tests.support.any_day import plan_here
from tests.support.trade import DAY, HOUR, need, operation, yard

FEEDING = FeedingSettings(syrup_id="S67", margin=0.0, next_visit_days=10.0)


def left(near: YardNeed, far: YardNeed, km: float, hours: float, **cost: float) -> Unserved | None:
    """What becomes of the far yard on a short day with a near one."""
    shift = ShiftSettings(max_s=int(hours * HOUR), overtime_s=0, break_s=0)
    op = operation(
        [yard("NEAR", km=5.0), yard("FAR", km=km)], feeding=FEEDING, shift=shift, cost=CostSettings(**cost),
        travel=TravelSettings(circuity=1.3),
    )  # fmt: skip
    plan = plan_here(op, straight_travel(op), DAY, needs=[near, far])
    return next((u for u in plan.unserved if u.yard_id == "FAR"), None)


def test_no_truck_can_reach_the_hungry_yard_and_be_back() -> None:
    """Alone either fits the day; the near one is fed, for a yard without stores counts no more here."""
    found = left(
        need("NEAR", days_of_stores=60.0),
        need("FAR", days_of_stores=9.0),
        km=40.0,
        hours=3.1,
        loss_per_colony=0.0,
    )
    assert found is not None
    assert "Yard NEAR with 60 days of stores is fed" in found.reason


def test_going_there_costs_more_than_it_is_worth() -> None:
    found = left(
        need("NEAR", days_of_stores=60.0), need("FAR", days_of_stores=9.0), km=60.0, hours=10,
        drop_value_per_colony=3.0, loss_per_colony=1.0,
    )  # fmt: skip
    assert found is not None
    assert found.reason_code == "not_worth"
    assert "would cost" in found.reason


def test_nothing_is_said_of_yards_that_have_plenty_themselves() -> None:
    found = left(
        need("NEAR", days_of_stores=60.0), need("FAR", days_of_stores=50.0), km=60.0, hours=10,
        drop_value_per_colony=3.0, loss_per_colony=1.0,
    )  # fmt: skip
    assert found is not None
    assert "is fed" not in found.reason
