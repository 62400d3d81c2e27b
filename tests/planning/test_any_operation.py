"""Whatever the operation, the plan passes its audit and accounts for every yard."""

from __future__ import annotations

import pytest

from routing.audit import audit
from routing.domain.errors import NoPlanError
from routing.domain.plan import Plan
from routing.need.ration import need_of_day
from tests.support.any_day import plan_here
from tests.support.any_operation import any_operation

# Seeds that once broke a plan, and a run of plain ones.
BROKE = (3, 5, 14, 36, 38, 49, 54, 140, 354, 373, 539, 1222, 3984, 4510)
WASHES = 117
"""Of this seed a truck is washed down in mid-day."""
SEEDS = (*BROKE, WASHES, *(seed for seed in range(60, 100) if seed not in BROKE))


def _fed(plan: Plan) -> dict[str, float]:
    fed: dict[str, float] = {}
    for route in plan.routes:
        for stop in route.stops:
            for pour in stop.pour:
                fed[stop.place_id] = fed.get(stop.place_id, 0.0) + pour.volume_l
    return fed


@pytest.mark.parametrize("seed", SEEDS)
def test_every_plan_passes_the_audit_and_accounts_for_every_litre(seed: int) -> None:
    operation, travel, day = any_operation(seed)
    needs = need_of_day(operation, day)
    if not any(truck.available_on(day) for truck in operation.trucks.values()):
        with pytest.raises(NoPlanError, match="no truck is available"):
            plan_here(operation, travel, day)
        return
    plan = plan_here(operation, travel, day)
    report = audit(operation, travel, plan)
    assert report.findings == ()
    fed, left = _fed(plan), {u.yard_id: u for u in plan.unserved}
    for need in needs:
        short = left[need.yard_id].volume_l if need.yard_id in left else 0.0
        assert fed.get(need.yard_id, 0.0) + short == pytest.approx(need.volume_l, abs=2e-3), need.yard_id
        if need.yard_id in left:
            assert left[need.yard_id].reason
            assert left[need.yard_id].remedy


def test_the_seeds_make_days_with_refills_breaks_washes_pails_and_yards_left() -> None:
    kinds: set[str] = set()
    codes: set[str] = set()
    pails = 0
    for seed in SEEDS:
        operation, travel, day = any_operation(seed)
        if not any(truck.available_on(day) for truck in operation.trucks.values()):
            continue
        plan = plan_here(operation, travel, day, iterations=5)
        kinds |= {stop.kind for route in plan.routes for stop in route.stops}
        codes |= {left.reason_code for left in plan.unserved}
        pails += sum(p.pails for r in plan.routes for s in r.stops for p in s.pour)
    assert kinds == {"start", "yard", "refill", "wash", "break", "end"}
    assert {"stock_short", "no_tank_for_syrup", "out_of_hours", "beyond_shift", "no_room"} <= codes
    assert pails > 50
