"""Data frames hold what plan, needs and log hold, in SI, with the same columns even when empty."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pandas as pd
import pytest

from routing.log.events import Event
from routing.log.facts import Fed, Poured, Withdrawn
from routing.log.fold.fold import day_now
from routing.need.ration import need_of_day
from routing.reports.frames import log, need, plan
from tests.support.builders import DAY, Case, small_case

YARD = "Y1"


@pytest.fixture(scope="module")
def case() -> Case:
    return small_case()


def test_stops_are_in_order_and_add_up_to_the_totals(case: Case) -> None:
    stops, totals = plan.stops(case.operation, case.plan), plan.totals(case.plan).set_index("truck_id")
    by_truck = stops.groupby("truck_id", sort=False)
    assert list(by_truck.groups) == [route.truck_id for route in case.plan.routes]
    assert (by_truck["distance_m"].sum() == totals["distance_m"]).all()
    assert (by_truck["drive_s"].sum() == totals["drive_s"]).all()
    assert by_truck["poured_l"].sum().sub(totals["volume_l"]).abs().max() < 0.01
    assert (by_truck["seq"].apply(lambda seq: seq.is_monotonic_increasing)).all()


def test_times_are_the_plans_in_the_zone_of_the_operation(case: Case) -> None:
    stops = plan.stops(case.operation, case.plan)
    first = case.plan.routes[0].stops[0]
    assert stops["arrive"].iloc[0] == first.arrive
    assert str(stops["arrive"].dt.tz) == case.plan.timezone
    waited = (stops["begin"] - stops["arrive"]).dt.total_seconds()
    assert (waited == stops["wait_s"]).all()


def test_pours_and_fills_add_up_to_the_stops(case: Case) -> None:
    stops = plan.stops(case.operation, case.plan).set_index(["truck_id", "seq"])
    for table, column in ((plan.pours(case.plan), "poured_l"), (plan.fills(case.plan), "filled_l")):
        sums = table.groupby(["truck_id", "seq"])["volume_l"].sum()
        assert len(sums)
        assert sums.sub(stops[column]).abs().max() < 1e-6


def test_who_is_not_fed_has_a_reason_and_a_remedy(case: Case) -> None:
    left = plan.unserved(case.operation, case.plan)
    assert list(left["yard_id"]) == [u.yard_id for u in case.plan.unserved]
    assert list(left["due"]) == [u.unfed for u in case.plan.unserved]
    assert left["reason"].ne("").all()
    assert left["yard_name"].isin([yard.name for yard in case.operation.yards.values()]).all()


def test_a_plan_without_routes_gives_tables_of_the_same_columns_and_types(case: Case) -> None:
    empty = replace(case.plan, routes=(), unserved=(), warnings=())
    pairs = [
        (plan.stops(case.operation, case.plan), plan.stops(case.operation, empty)),
        (plan.pours(case.plan), plan.pours(empty)),
        (plan.totals(case.plan), plan.totals(empty)),
        (plan.unserved(case.operation, case.plan), plan.unserved(case.operation, empty)),
    ]
    for full, none in pairs:
        assert len(none) == 0
        assert list(none.columns) == list(full.columns)
        assert [kind.kind for kind in none.dtypes] == [kind.kind for kind in full.dtypes]


def test_need_and_doses_hold_what_every_yard_is_to_get(case: Case) -> None:
    needs = need_of_day(case.operation, DAY)
    table, doses = need.need(case.operation, needs), need.doses(needs)
    assert list(table["yard_id"]) == [n.yard_id for n in needs]
    assert table["volume_l"].sum() == pytest.approx(sum(n.volume_l for n in needs))
    by_yard = doses.groupby("yard_id")["volume_l"].sum()
    fed = table.set_index("yard_id").loc[by_yard.index, "volume_l"]
    assert by_yard.sub(fed).abs().max() < 0.001


def test_travel_has_a_row_for_every_truck_and_pair(case: Case) -> None:
    table = need.travel(case.operation, case.travel)
    places = len(case.travel.places)
    assert len(table) == len(case.operation.trucks) * places * (places - 1)
    row = table.iloc[7]
    leg = case.travel.leg(row["truck_id"], row["origin"], row["destination"])
    assert (row["distance_m"], row["drive_s"]) == (leg.distance_m, leg.drive_s)


def _fed(case: Case, number: int, litres: float, **more: object) -> Event:
    stop = next(stop for stop in case.plan.routes[0].stops if stop.pour)
    pour = stop.pour[0]
    fact = Fed(
        stop.place_id, (Poured(pour.group, pour.feeder_id, pour.syrup_id, pour.colonies, litres, "T"),)
    )
    at = datetime.combine(DAY, datetime.min.time(), UTC) + timedelta(hours=15, minutes=number)
    event = Event(f"e{number}", DAY, at, fact, case.plan.routes[0].truck_id, seq=number)
    return replace(event, **more)  # type: ignore[arg-type]


def test_pours_of_the_log_are_those_in_force(case: Case) -> None:
    first, second = _fed(case, 1, 100.0), _fed(case, 2, 80.0, corrects="e1")
    table = log.poured(case.operation, (first, second))
    assert list(table["volume_l"]) == [80.0]
    assert str(table["at"].dt.tz) == case.operation.timezone
    gone = replace(second, event_id="e3", fact=Withdrawn(), corrects="e2", seq=3)
    assert len(log.poured(case.operation, (first, second, gone))) == 0


def test_what_was_poured_stands_beside_what_was_planned(case: Case) -> None:
    event = _fed(case, 1, 50.0)
    state = day_now(case.operation, DAY, {}, (event,), event.at)
    table = log.against_plan((state,))
    row = table[table["poured_l"] > 0].iloc[0]
    assert row["yard_id"] == event.fact.yard_id  # type: ignore[union-attr]
    assert row["poured_l"] == 50.0
    assert table["date"].iloc[0] == pd.Timestamp(DAY)
