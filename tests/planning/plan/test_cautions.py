"""Cautions stand in the plan where its loads, hours, yards or season call for them."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from routing.domain.fleet import Tank
from routing.domain.operation import Operation
from routing.domain.places import Foulbrood, Health, Priority
from routing.domain.plan import Plan
from routing.domain.ration import ReasonCode, YardNeed
from routing.domain.settings import FeedingSettings, ShiftSettings
from routing.travel.straight.straight import straight_travel
from tests.support.any_day import plan_here
from tests.support.trade import DAY, HOUR, dose, need, operation, truck, yard


def planned(op: Operation, *needs: YardNeed, **more: Any) -> Plan:
    return plan_here(op, straight_travel(op), DAY, needs=needs, iterations=10, **more)


def said(plan: Plan, code: str) -> list[str]:
    return [w.text for w in plan.warnings if w.code == code]


def test_a_load_close_to_the_legal_weight_is_to_be_weighed() -> None:
    near = truck(gvwr_kg=4000.0 + 300 * 1.34)
    assert (
        "weigh it loaded" in said(planned(operation([yard("A")], [near]), need("A")), "near_legal_weight")[0]
    )
    assert not said(planned(operation([yard("A")]), need("A")), "near_legal_weight")


def test_yards_asked_for_are_fed_like_starving_ones_and_missed_loudly() -> None:
    short = ShiftSettings(max_s=3 * HOUR, overtime_s=0, break_s=0)
    op = operation([yard("NEAR", km=5.0), yard("FAR", km=35.0)], shift=short)
    needs = [need("NEAR"), need("FAR")]
    assert {u.yard_id for u in planned(op, *needs).unserved} == {"FAR"}
    asked = planned(op, *needs, must=("FAR",))
    assert {u.yard_id for u in asked.unserved} == {"NEAR"}
    assert asked.must == ("FAR",)
    assert not said(asked, "must_unserved")
    (text,) = said(planned(op, *needs, must=("NEAR", "FAR")), "must_unserved")
    assert "must be fed by your word and is not fed today" in text


def test_a_yard_asked_for_that_may_not_be_fed_says_why() -> None:
    refused = replace(
        need("A"), doses=(), reason_code=ReasonCode.STORES_ENOUGH, reason="it has enough", remedy="wait"
    )
    (text,) = said(planned(operation([yard("A")]), refused, must=("A",)), "must_unserved")
    assert "it has enough. Do this: wait." in text
    every_day = operation([yard("A", priority=Priority.MUST)])
    assert not said(planned(every_day, refused), "must_unserved")


def test_overtime_is_told_as_a_risk() -> None:
    op = operation([yard("A")], shift=ShiftSettings(max_s=HOUR, overtime_s=3 * HOUR))
    plan = planned(op, need("A"))
    assert "overtime" in said(plan, "overtime")[0]
    assert [w.truck_id for w in plan.warnings if w.code == "overtime"] == ["T1"]


def test_part_full_tanks_without_baffles_surge() -> None:
    big = Tank("A", 1000.0)
    assert said(planned(operation([yard("A")], [truck(tanks=(big,))]), need("A")), "surge")
    baffled = replace(big, baffled=True)
    assert not said(planned(operation([yard("A")], [truck(tanks=(baffled,))]), need("A")), "surge")


def test_a_quarantined_yard_is_cautioned_once_and_by_name() -> None:
    plan = planned(operation([yard("A", health=Health.QUARANTINE), yard("B")]), need("A"), need("B"))
    (text,) = said(plan, "quarantine")
    assert text.startswith("Yard A is under quarantine")
    assert [w.place_id for w in plan.warnings if w.code == "quarantine"] == ["A"]


def test_foulbrood_defers_to_the_permit_and_the_inspector() -> None:
    ill = yard("A", health=Health.QUARANTINE, foulbrood=Foulbrood.CONFIRMED, permit="no. 12")
    (text,) = said(planned(operation([ill]), need("A")), "foulbrood")
    assert "the permit on record (no. 12) binds" in text
    assert "neither left-over syrup nor gear" in text


def test_robbing_and_stings_are_cautioned_where_crews_go_out() -> None:
    robbed = operation([yard("A")], feeding=FeedingSettings(syrup_id="S67", robbing="high"))
    assert said(planned(robbed, need("A")), "robbing")
    assert said(planned(robbed, need("A")), "stings")
    idle = planned(operation([yard("A")]), replace(need("A"), doses=()))
    assert not said(idle, "stings")


def test_a_need_s_own_cautions_stand_at_its_stop() -> None:
    plan = planned(operation([yard("A")]), need("A", dose(), cautions=("bees drown in it",)))
    (stop,) = (s for s in plan.routes[0].stops if s.kind == "yard")
    assert stop.notes == ("bees drown in it",)
