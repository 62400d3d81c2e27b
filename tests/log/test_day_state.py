"""The state of a feeding day is what plan and events together say, whatever was noted in which order."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime, timedelta
from itertools import permutations
from typing import Any

import pytest

from routing.domain.plan import Plan, Route, Stop
from routing.log.complete.complete import Known
from routing.log.complete.pours import pours_of
from routing.log.day import GAPS, DayNow
from routing.log.events import Event, Fact
from routing.log.facts import (
    Arrived,
    DepotClosed,
    Fed,
    Filled,
    Finished,
    Gauged,
    Left,
    Meter,
    Mixed,
    Planned,
    Poured,
    Received,
    Refilled,
    Rested,
    Skipped,
    SkipReason,
    Started,
    TruckBack,
    TruckOut,
    Urgent,
    Washed,
    Withdrawn,
    YardClosed,
)
from routing.log.fold.fold import day_now
from tests.support.builders import DAY, small_case

CASE = small_case()
PLAN = replace(CASE.plan, plan_id="morning")
BIG = next(route for route in PLAN.routes if route.truck_id == "BIG")
CLOCK = CASE.operation.clock(DAY)
START = Filled("S67", 560.0, "B1", lot="A-17"), Filled("HF55", 450.0, "B2"), Filled("S67", 150.0, None, 20)


def at(text: str) -> datetime:
    hours, minutes = text.split(":")
    return CLOCK.at(int(hours) * 3600 + int(minutes) * 60)


def stop_at(place_id: str, kind: str = "yard", route: Route = BIG) -> Stop:
    return next(stop for stop in route.stops if stop.kind == kind and stop.place_id == place_id)


class Log:
    """Events in the order noted."""

    def __init__(self, *, planned: bool = True) -> None:
        self.events: list[Event] = []
        if planned:
            self.note("06:00", Planned("morning"), truck_id="")

    def note(self, when: str | datetime, fact: Fact, truck_id: str = "BIG", **more: Any) -> Event:
        moment = at(when) if isinstance(when, str) else when
        seq = len(self.events) + 1
        event = Event(f"e{seq}", DAY, moment, fact, truck_id, seq=seq, **more)
        self.events.append(event)
        return event

    def fed_as_planned(self, yard_id: str, late_min: int = 0) -> Event:
        stop = stop_at(yard_id)
        return self.note(stop.leave + timedelta(minutes=late_min), Fed(yard_id, pours(stop)))

    def now(self, when: str | datetime, plans: dict[str, Plan] | None = None) -> DayNow:
        moment = at(when) if isinstance(when, str) else when
        return state(self.events, moment, plans)


def state(events: Iterable[Event], now: datetime, plans: dict[str, Plan] | None = None) -> DayNow:
    return day_now(CASE.operation, DAY, plans or {"morning": PLAN}, events, now)


def pours(stop: Stop) -> tuple[Poured, ...]:
    return tuple(
        Poured(p.group, p.feeder_id, p.syrup_id, p.colonies, p.volume_l, p.tank_id, p.pails)
        for p in stop.pour
    )


def codes(now: DayNow) -> list[str]:
    return [gap.code for gap in now.gaps]


def started(**more: Any) -> Log:
    log = Log(**more)
    log.note(BIG.stops[0].leave, Started("BASE", START))
    return log


def test_before_anything_is_noted_every_planned_yard_is_due_and_nobody_is_late() -> None:
    now = Log().now("06:30")
    assert {y.yard_id for y in now.yards.values() if y.status == "due"} == {
        "Y1",
        "Y2",
        "Y3",
        "Y4",
        "Y5",
        "Y6",
    }
    assert {y.yard_id for y in now.yards.values() if y.status == "not_due"} == {"Y7", "Y8"}
    left = {y.yard_id: y for y in now.yards.values() if y.status == "left_out"}
    assert left.keys() == {"Y9"}
    assert left["Y9"].left_out
    assert {t.status for t in now.trucks.values()} == {"not_started"}
    assert now.gaps == ()


def test_a_day_driven_as_planned_ends_where_the_plan_ends() -> None:
    log = started()
    for stop in BIG.stops[1:]:
        if stop.kind == "yard":
            log.note(stop.arrive, Arrived(f"yard:{stop.place_id}"))
            log.note(stop.leave, Fed(stop.place_id, pours(stop)))
        elif stop.kind == "refill":
            log.note(stop.arrive, Arrived(f"depot:{stop.place_id}"))
            fills = tuple(Filled(f.syrup_id, f.volume_l, f.tank_id, f.pails) for f in stop.fill)
            log.note(stop.leave, Refilled(stop.place_id, fills))
        elif stop.kind == "break":
            log.note(stop.leave, Rested(round((stop.leave - stop.begin).total_seconds())))
        elif stop.kind == "end":
            log.note(stop.arrive, Finished(stop.place_id))
    now = log.now("22:00")
    truck, last = now.trucks["BIG"], BIG.stops[-1]
    assert truck.status == "finished"
    assert truck.late_s == 0
    assert truck.done_seqs == tuple(stop.seq for stop in BIG.stops)
    assert {name: tank.volume_l for name, tank in truck.tanks.items()} == pytest.approx(
        {name: tank.volume_l for name, tank in last.after.tanks.items()}
    )
    assert (truck.pails_full, truck.pails_empty) == (last.after.pails_full, last.after.pails_empty)
    # The start is noted when loading is over; loading is work.
    assert truck.worked_s == BIG.totals.work_s
    assert truck.rested_s == BIG.totals.break_s
    assert {y for y, yard in now.yards.items() if yard.status == "done"} == {"Y1", "Y2", "Y3", "Y5", "Y6"}
    assert now.gaps == ()


def test_driving_is_from_work_done_to_the_next_arrival() -> None:
    log = started()
    first = stop_at("Y2")
    log.note(BIG.stops[0].leave + timedelta(seconds=first.leg.drive_s + 420), Arrived("yard:Y2"))
    now = log.now("09:00")
    assert now.trucks["BIG"].driven_s == first.leg.drive_s + 420
    assert not now.trucks["BIG"].drive_estimated
    assert (now.trucks["BIG"].place, now.trucks["BIG"].underway) == ("yard:Y2", False)


def test_without_arrivals_the_plan_says_what_of_the_time_was_driving() -> None:
    log = started()
    log.fed_as_planned("Y2", late_min=40)
    now = log.now(stop_at("Y2").leave + timedelta(minutes=40))
    assert now.trucks["BIG"].driven_s == stop_at("Y2").leg.drive_s
    assert now.trucks["BIG"].drive_estimated
    assert now.trucks["BIG"].late_s == 2400


def test_a_truck_that_is_done_somewhere_is_on_its_way_to_the_next_planned_stop() -> None:
    log = started()
    log.fed_as_planned("Y2")
    truck = log.now(stop_at("Y2").leave + timedelta(minutes=1)).trucks["BIG"]
    assert (truck.place, truck.underway) == ("yard:Y2", True)
    assert truck.heading == "depot:FIELD"


def test_silence_past_the_next_planned_leaving_is_lateness() -> None:
    log = started()
    log.fed_as_planned("Y2")
    later = stop_at("FIELD", "refill").leave + timedelta(minutes=25)
    assert log.now(later).trucks["BIG"].late_s == 1500
    assert "late" in codes(log.now(later))


def test_a_locked_gate_leaves_the_yard_skipped_with_its_reason_and_hour() -> None:
    log = started()
    log.note("08:20", Arrived("yard:Y2"))
    log.note("08:30", Skipped("Y2", SkipReason.GATE_LOCKED, "new padlock", at("13:00")))
    yard = log.now("08:31").yards["Y2"]
    assert yard.status == "skipped"
    assert yard.left_colonies == 40
    assert yard.skipped is not None
    assert (yard.skipped.reason, yard.skipped.words) == (SkipReason.GATE_LOCKED, "new padlock")
    assert (yard.closed, yard.closed_until) == (True, at("13:00"))
    assert log.now("08:31").trucks["BIG"].heading == "depot:FIELD"


def test_a_yard_skipped_and_fed_later_is_done() -> None:
    log = started()
    log.note("08:30", Skipped("Y2", SkipReason.GATE_LOCKED))
    log.note("13:30", Fed("Y2", pours(stop_at("Y2"))))
    yard = log.now("14:00").yards["Y2"]
    assert (yard.status, yard.skipped) == ("done", None)


def test_a_short_pour_is_told_in_litres_and_the_yard_is_done() -> None:
    log = started()
    log.note("10:00", Fed("Y2", (replace(pours(stop_at("Y2"))[0], volume_l=270.0),)))
    now = log.now("10:01")
    short = [gap for gap in now.gaps if gap.code == "poured_short"]
    assert [(gap.place, gap.amount) for gap in short] == [("yard:Y2", 30.0)]
    assert now.yards["Y2"].status == "done"
    assert now.trucks["BIG"].tanks["B1"].volume_l == 290.0


def test_a_yard_noted_as_fed_twice_is_told() -> None:
    log = started()
    log.fed_as_planned("Y2")
    assert "fed_again" not in codes(log.now("18:00"))
    log.fed_as_planned("Y2", late_min=5)
    gaps = [gap for gap in log.now("18:00").gaps if gap.code == "fed_again"]
    assert {gap.place for gap in gaps} == {"yard:Y2"}
    assert sum(gap.amount for gap in gaps) == pytest.approx(sum(p.volume_l for p in stop_at("Y2").pour))
    assert "too_many" not in codes(log.now("18:00"))


def test_more_colonies_fed_than_the_yard_has_are_told() -> None:
    log = started()
    has = {g.group: g.colonies for g in CASE.operation.groups_of("Y2")}
    first, *rest = pours(stop_at("Y2"))
    log.note("10:00", Fed("Y2", (replace(first, colonies=has[first.group] + 20), *rest)))
    (gap,) = [gap for gap in log.now("10:01").gaps if gap.code == "too_many"]
    assert (gap.place, gap.item, gap.amount) == ("yard:Y2", first.group, 20.0)


def test_a_yard_that_two_trucks_feed_in_parts_was_not_fed_twice() -> None:
    log = started()
    first, *rest = pours(stop_at("Y2"))
    half = first.colonies // 2
    log.note("10:00", Fed("Y2", (replace(first, colonies=half), *rest)))
    log.note("10:05", Fed("Y2", (replace(first, colonies=first.colonies - half),)))
    assert not {"fed_again", "too_many"} & set(codes(log.now("10:06")))


def test_colonies_not_reached_wait_and_dead_ones_do_not() -> None:
    log = started()
    log.note("10:00", Fed("Y2", (replace(pours(stop_at("Y2"))[0], colonies=25, volume_l=187.5, alive=38),)))
    now = log.now("10:01")
    assert (now.yards["Y2"].status, now.yards["Y2"].left_colonies) == ("part", 13)
    assert [(g.code, g.amount) for g in now.gaps if g.code in ("dead", "part_done")] == [
        ("part_done", 13.0),
        ("dead", 2.0),
    ]
    log.note("10:05", Fed("Y2", (), finished=True))
    assert log.now("10:06").yards["Y2"].status == "done"


def test_a_gauge_replaces_the_book_and_the_difference_is_told() -> None:
    log = started()
    log.fed_as_planned("Y2")
    log.note("10:30", Gauged("B1", 240.0))
    now = log.now("10:31")
    assert now.trucks["BIG"].tanks["B1"].volume_l == 240.0
    assert [(g.item, g.amount) for g in now.gaps if g.code == "gauge_gap"] == [("B1", -20.0)]


def test_a_meter_that_counted_other_than_was_noted_is_told() -> None:
    log = started()
    log.note("10:00", Fed("Y2", pours(stop_at("Y2")), Meter(1000.0, 1312.0)))
    assert [g.amount for g in log.now("10:01").gaps if g.code == "meter_gap"] == [12.0]


def test_a_tank_is_never_below_nothing_nor_above_its_brim_by_the_book() -> None:
    log = started()
    log.note("10:00", Fed("Y2", (replace(pours(stop_at("Y2"))[0], volume_l=600.0),)))
    log.note("11:00", Refilled("FIELD", (Filled("S67", 700.0, "B1"),)))
    now = log.now("11:01")
    assert now.trucks["BIG"].tanks["B1"].volume_l == 570.0
    told = {(g.code, g.amount) for g in now.gaps}
    assert ("tank_short", 40.0) in told
    assert ("tank_over", 130.0) in told


def test_depot_stock_goes_down_by_loads_and_up_by_batches_and_deliveries() -> None:
    log = started()
    log.note("08:00", Mixed("BASE", "S67", 100.0, "M1"), "")
    log.note("08:30", Received("FIELD", "S67", 1000.0, "L2", "a supplier"), "")
    log.note("10:00", Refilled("FIELD", (Filled("S67", 65.0, "B1"),)))
    stock = log.now("11:00").depots
    assert stock["BASE"].stock_l == {"S67": 6000.0 - 560.0 - 150.0 + 100.0, "HF55": 3000.0 - 450.0}
    assert stock["FIELD"].stock_l == {"S67": 1500.0 + 1000.0 - 65.0}


def test_more_than_a_depot_has_is_told() -> None:
    log = started()
    log.note("10:00", Refilled("FIELD", (Filled("S67", 1600.0, None, 4),)))
    now = log.now("11:00")
    assert now.depots["FIELD"].stock_l["S67"] == 0.0
    assert [g.amount for g in now.gaps if g.code == "stock_short"] == [100.0]


def test_pails_given_come_back_empty_except_from_quarantine() -> None:
    log = started()
    log.fed_as_planned("Y5")
    truck = log.now("23:00").trucks["BIG"]
    assert (truck.pails_full, truck.pails_empty) == (0, 20)
    log.note("23:10", Washed("BASE"))
    assert log.now("23:20").trucks["BIG"].pails_empty == 0
    log = started()
    log.note("10:00", Fed("Y6", (Poured("all", "pail2", "S67", 5, 37.5, None, 5),)))
    assert log.now("23:00").trucks["BIG"].pails_empty == 0


def test_a_truck_that_was_in_quarantine_stays_marked_until_it_is_washed() -> None:
    log = started()
    log.note("10:00", Arrived("yard:Y6"))
    assert log.now("10:01").trucks["BIG"].hygiene_rank == 2
    log.fed_as_planned("Y6")
    log.note("20:00", Washed("BASE"))
    assert log.now("20:01").trucks["BIG"].hygiene_rank == 0


@pytest.mark.parametrize(
    ("reason", "rank"), [(SkipReason.GATE_LOCKED, 0), (SkipReason.MUD, 0), (SkipReason.SICK_BROOD, 2)]
)
def test_turning_round_at_the_gate_of_a_quarantined_yard_marks_nobody(reason: SkipReason, rank: int) -> None:
    log = started()
    log.note("10:00", Arrived("yard:Y6"))
    log.note("10:05", Skipped("Y6", reason))
    assert log.now("10:06").trucks["BIG"].hygiene_rank == rank


def test_the_break_clock_runs_from_the_end_of_the_last_break() -> None:
    log = started()
    begun = BIG.stops[0].leave
    log.note(begun + timedelta(hours=4), Rested(1800))
    truck = log.now(begun + timedelta(hours=5)).trucks["BIG"]
    loading_s = (begun - BIG.start).total_seconds()
    assert (truck.since_break_s, truck.worked_s, truck.rested_s) == (3600, 5 * 3600 + loading_s, 1800)


def test_an_hour_at_a_yard_is_a_pause_from_driving_and_a_quarter_hour_is_none() -> None:
    log = started()
    begun = BIG.stops[0].leave
    log.note(begun + timedelta(minutes=60), Arrived("yard:Y2"))
    log.note(begun + timedelta(minutes=75), Fed("Y2", pours(stop_at("Y2"))))
    log.note(begun + timedelta(minutes=105), Arrived("yard:Y1"))
    assert log.now(begun + timedelta(minutes=106)).trucks["BIG"].driving_since_pause_s == 90 * 60
    log.note(begun + timedelta(minutes=165), Fed("Y1", pours(stop_at("Y1"))))
    log.note(begun + timedelta(minutes=175), Arrived("yard:Y5"))
    truck = log.now(begun + timedelta(minutes=176)).trucks["BIG"]
    assert truck.driving_since_pause_s == 10 * 60
    assert truck.driven_s == 100 * 60


@pytest.mark.parametrize(("rest_s", "left_s"), [(1800, 1200), (1799, 3 * 1200)])
def test_a_whole_break_starts_the_driving_clock_again_and_a_shorter_one_does_not(
    rest_s: int, left_s: int
) -> None:
    log = started()
    begun, leg = BIG.stops[0].leave, timedelta(seconds=1200)
    log.note(begun + leg, Arrived("yard:Y2"))
    log.note(begun + leg, Fed("Y2", pours(stop_at("Y2"))))
    log.note(begun + 2 * leg, Arrived("yard:Y1"))
    pause = timedelta(seconds=rest_s)
    log.note(begun + 2 * leg + timedelta(seconds=5), Fed("Y1", pours(stop_at("Y1"))))
    log.note(begun + 2 * leg + timedelta(seconds=5) + pause, Rested(rest_s))
    log.note(begun + 3 * leg + timedelta(seconds=5) + pause, Arrived("yard:Y5"))
    truck = log.now("23:00").trucks["BIG"]
    assert truck.driven_s == 3600
    here = log.now(begun + 3 * leg + timedelta(seconds=6) + pause).trucks["BIG"]
    assert here.driving_since_pause_s == left_s


def test_what_another_truck_fed_already_is_not_noted_as_planned_again() -> None:
    log = started()
    log.note("08:00", Started("BASE", (Filled("S67", 230.0, "S1"),)), "SMALL")
    log.note("09:00", Fed("Y2", (Poured("all", "frame2", "S67", 15, 112.5, "S1"),)), "SMALL")
    known = Known(CASE.operation, log.now("09:01"), {"morning": PLAN})
    rows = pours_of(known, "BIG", "Y2", ())
    assert [(row.colonies, row.volume_l, row.tank_id, row.lot) for row in rows] == [(25, 187.5, "B1", "A-17")]


def test_a_truck_out_of_action_says_so_until_it_is_back() -> None:
    log = started()
    log.note("11:20", TruckOut("gearbox"))
    truck = log.now("11:30").trucks["BIG"]
    assert (truck.status, truck.out_words, truck.heading) == ("out", "gearbox", None)
    log.note("12:00", TruckBack())
    assert log.now("12:01").trucks["BIG"].status == "working"


def test_a_closed_depot_opens_again_at_its_hour() -> None:
    log = started()
    log.note("09:00", DepotClosed("FIELD", at("12:00"), "pump"), "")
    assert log.now("11:59").depots["FIELD"].closed
    assert not log.now("12:00").depots["FIELD"].closed


def test_an_urgent_yard_waits_until_it_is_fed_and_a_closed_one_says_until_when() -> None:
    log = started()
    log.note("12:05", Urgent("Y9", 10, 4.0, "phoned"), "")
    log.note("12:06", YardClosed("Y3", None, "bull loose"), "")
    now = log.now("12:10")
    assert (now.yards["Y9"].status, now.yards["Y9"].urgent) == ("due", True)
    assert (now.yards["Y3"].closed, now.yards["Y3"].closed_until) == (True, None)
    log.note("14:00", Fed("Y9", (Poured("all", "frame2", "S67", 10, 40.0, "B1"),)))
    now = log.now("14:01")
    assert (now.yards["Y9"].status, now.yards["Y9"].urgent) == ("done", False)
    assert "not_planned" in codes(now)


def test_a_yard_fed_by_the_other_truck_is_done_and_no_longer_ahead_of_its_own() -> None:
    log = started()
    log.fed_as_planned("Y2")
    log.note("10:00", Refilled("FIELD", (Filled("S67", 65.0, "B1"),)))
    log.note("10:00", Started("BASE", (Filled("S67", 390.0, "S1"),)), "SMALL")
    log.note("11:00", Fed("Y1", tuple(replace(p, tank_id="S1") for p in pours(stop_at("Y1")))), "SMALL")
    now = log.now("11:01")
    assert now.yards["Y1"].status == "done"
    assert now.trucks["BIG"].heading == "yard:Y5"
    assert "other_truck" in codes(now)


def test_a_planned_yard_that_was_passed_by_is_told() -> None:
    log = started()
    log.fed_as_planned("Y1")
    passed = [gap.place for gap in log.now(stop_at("Y1").leave).gaps if gap.code == "passed_over"]
    assert passed == ["yard:Y2"]


def test_a_truck_is_silent_half_an_hour_after_its_next_report_was_due() -> None:
    log = started()
    due = BIG.stops[1].leave
    assert not log.now(due + timedelta(minutes=29)).trucks["BIG"].silent
    now = log.now(due + timedelta(minutes=30))
    assert now.trucks["BIG"].silent
    assert now.trucks["BIG"].heard == BIG.stops[0].leave


def test_a_truck_that_reported_late_is_not_silent_while_it_is_no_later() -> None:
    log = started()
    log.fed_as_planned("Y2", late_min=50)
    then = BIG.stops[stop_at("Y2").seq + 1]
    assert not log.now(then.leave + timedelta(minutes=79)).trucks["BIG"].silent
    assert log.now(then.leave + timedelta(minutes=81)).trucks["BIG"].silent


def test_a_truck_that_never_started_is_silent_and_one_out_of_action_or_home_is_not() -> None:
    log = Log()
    long_after = BIG.stops[0].leave + timedelta(hours=2)
    assert log.now(long_after).trucks["BIG"].silent
    log.note("07:00", TruckOut("engine"))
    assert not log.now(long_after).trucks["BIG"].silent
    home = started()
    home.note("09:00", Finished("BASE"))
    assert not home.now("19:00").trucks["BIG"].silent


def test_a_start_that_nobody_noted_is_taken_from_the_plan_and_told() -> None:
    log = Log()
    log.fed_as_planned("Y2")
    now = log.now("12:00")
    assert "start_assumed" in codes(now)
    assert now.trucks["BIG"].started == BIG.start
    assert now.trucks["BIG"].tanks["B1"].volume_l == 560.0 - 300.0
    log.note(BIG.stops[0].leave, Started("BASE", START))
    now = log.now("12:00")
    assert "start_assumed" not in codes(now)
    assert now.trucks["BIG"].tanks["B1"].volume_l == 560.0 - 300.0


def test_a_correction_stands_in_the_place_and_time_of_what_it_corrects() -> None:
    log = started()
    wrong = log.note("10:00", Fed("Y2", (replace(pours(stop_at("Y2"))[0], volume_l=30.0),)))
    log.fed_as_planned("Y1")
    right = log.note("10:00", Fed("Y2", pours(stop_at("Y2"))), corrects=wrong.event_id)
    assert log.now("10:01").yards["Y2"].groups[0].poured_l == 300.0
    again = replace(pours(stop_at("Y2"))[0], volume_l=290.0)
    log.note("10:00", Fed("Y2", (again,)), corrects=right.event_id)
    assert log.now("10:01").yards["Y2"].groups[0].poured_l == 290.0
    log.note("18:00", Withdrawn("wrong yard"), "", corrects=wrong.event_id)
    assert log.now("23:00").yards["Y2"].status == "due"


def test_a_correction_of_nothing_changes_nothing() -> None:
    log = started()
    before = log.now("12:00")
    log.note("10:00", Fed("Y2", pours(stop_at("Y2"))), corrects="nowhere")
    assert log.now("12:00") == before


def test_a_note_made_late_counts_at_its_own_time() -> None:
    log = started()
    log.note("11:00", Gauged("B1", 100.0))
    log.note("10:00", Fed("Y2", pours(stop_at("Y2"))))
    assert log.now("12:00").trucks["BIG"].tanks["B1"].volume_l == 100.0
    assert log.now("10:30").trucks["BIG"].tanks["B1"].volume_l == 260.0
    assert log.now("09:30").yards["Y2"].status == "due"


def _rest_plan() -> Plan:
    """The rest of the day without Y3, and Y2 for only ten of its colonies."""
    stops, later = [], timedelta(hours=6)
    for stop in BIG.stops:
        if stop.place_id in ("Y1", "Y5") or stop.kind == "end":
            moved = {name: getattr(stop, name) + later for name in ("arrive", "begin", "leave")}
            stops.append(replace(stop, **moved))
        elif stop.place_id == "Y2":
            pour = replace(stop.pour[0], colonies=10, volume_l=80.0)
            one, half = at("13:00"), at("13:30")
            stops.append(replace(stop, pour=(pour,), arrive=one, begin=one, leave=half))
    start = replace(BIG.stops[0], fill=())
    stops = [replace(stop, seq=n) for n, stop in enumerate([start, *stops])]
    return replace(PLAN, plan_id="noon", routes=(replace(BIG, stops=tuple(stops)),))


def test_a_plan_for_the_rest_of_the_day_moves_nothing_that_is_done() -> None:
    log = started()
    log.note("10:00", Fed("Y2", (replace(pours(stop_at("Y2"))[0], colonies=30, volume_l=200.0),)))
    log.note("12:00", Planned("noon", rest=True), "")
    now = log.now("12:01", {"morning": PLAN, "noon": _rest_plan()})
    assert now.plan_ids == ("morning", "noon")
    y2 = now.yards["Y2"].groups[0]
    assert (y2.due_colonies, y2.fed_colonies, y2.left_colonies, y2.each_l) == (40, 30, 10, 8.0)
    assert (y2.poured_l, y2.expected_l) == (200.0, 225.0)
    assert now.yards["Y3"].status == "not_due"
    assert now.trucks["BIG"].heading == "yard:Y2"
    assert [g.amount for g in now.gaps if g.code == "poured_short"] == [25.0]
    log.note("13:25", Fed("Y2", (replace(pours(stop_at("Y2"))[0], colonies=10, volume_l=80.0),)))
    now = log.now("13:26", {"morning": PLAN, "noon": _rest_plan()})
    assert now.yards["Y2"].status == "done"
    assert now.trucks["BIG"].late_s == -300
    assert now.trucks["BIG"].heading == "yard:Y1"


def test_a_refill_that_the_rest_of_the_day_begins_with_is_where_the_truck_goes_first() -> None:
    rest = _rest_plan()
    first = replace(rest.routes[0].stops[0], fill=BIG.stops[0].fill, leave=at("12:30"))
    stops = (first, *rest.routes[0].stops[1:])
    noon = replace(rest, routes=(replace(rest.routes[0], stops=stops),), replaces="morning")
    log = started()
    log.note("11:00", Skipped("Y2", SkipReason.GATE_LOCKED))
    log.note("12:00", Planned("noon", rest=True), "")
    plans = {"morning": PLAN, "noon": noon}
    now = log.now("12:01", plans)
    assert now.trucks["BIG"].heading == f"depot:{first.place_id}"
    assert Known(CASE.operation, now, plans).next_stop("BIG", "refill", first.place_id) == first
    log.note("12:32", Refilled(first.place_id, tuple(Filled(f.syrup_id, 1.0, f.tank_id) for f in first.fill)))
    now = log.now("12:33", plans)
    assert now.trucks["BIG"].done_seqs == (0,)
    assert now.trucks["BIG"].heading == "yard:Y1"
    assert now.trucks["BIG"].late_s == 120


def test_a_truck_that_broke_down_on_its_way_does_not_drive_until_it_is_back() -> None:
    log = started()
    before = log.now("08:00").trucks["BIG"]
    log.note("08:00", TruckOut("hose"))
    assert log.now("10:00").trucks["BIG"].driven_s <= before.driven_s
    log.note("10:00", TruckBack())
    back = log.now("10:00").trucks["BIG"]
    assert back.driven_s == before.driven_s
    log.note("10:20", Arrived("yard:Y2"))
    arrived = log.now("10:20").trucks["BIG"]
    assert before.started is not None
    on_road = round((at("08:00") - before.place_at).total_seconds()) if before.place_at else 0
    assert arrived.driven_s == on_road + 20 * 60
    assert arrived.worked_s == round((at("10:20") - before.started).total_seconds())


def test_a_truck_that_was_towed_home_drove_until_it_broke_down() -> None:
    log = started()
    before = log.now("08:00").trucks["BIG"]
    log.note("08:00", TruckOut("hose"))
    log.note("11:00", Finished("BASE"))
    on_road = round((at("08:00") - before.place_at).total_seconds()) if before.place_at else 0
    assert log.now("11:01").trucks["BIG"].driven_s <= on_road


def test_the_plan_of_the_day_holds_from_its_beginning_whenever_it_is_noted() -> None:
    log = started(planned=False)
    log.fed_as_planned("Y2")
    log.note("15:00", Planned("morning"), "")
    now = log.now("15:01")
    assert now.yards["Y2"].status == "done"
    assert not [g for g in now.gaps if g.code in ("not_planned", "poured_over")]


def test_ids_the_files_no_longer_know_are_told_and_change_nothing_else() -> None:
    log = started()
    log.note("10:00", Fed("gone", (Poured("all", "frame2", "S67", 5, 20.0, "gone"),)))
    log.note("10:10", Left(), "gone")
    log.note("10:20", Planned("lost", rest=True), "")
    now = log.now("11:00")
    assert codes(now).count("unknown") == 3
    assert "no_plan_text" in codes(now)
    assert now.trucks["BIG"].tanks["B1"].volume_l == 560.0


def test_every_order_of_noting_gives_the_same_state() -> None:
    log = started()
    log.fed_as_planned("Y2")
    log.note("10:00", Refilled("FIELD", (Filled("S67", 65.0, "B1"),)))
    log.note("10:05", Gauged("B1", 300.0))
    found = [state(order, at("12:00")) for order in permutations(log.events)]
    assert all(one == found[0] for one in found)


def test_every_code_told_is_listed() -> None:
    log = started()
    log.note("10:00", Fed("Y2", (replace(pours(stop_at("Y2"))[0], volume_l=600.0),)))
    assert set(codes(log.now("23:00"))) <= set(GAPS)
