"""Days noted teach how far the plan's numbers are off, and a slip of the finger does not sway them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date, datetime, timedelta

import pytest

from routing.domain.operation import Operation
from routing.domain.plan import Plan, Route, Stop
from routing.log.events import Event, Fact
from routing.log.facts import (
    Arrived,
    Fed,
    Filled,
    Finished,
    Gauged,
    Meter,
    Planned,
    Poured,
    Refilled,
    Rested,
    Started,
    Washed,
)
from routing.log.learn.learn import ENOUGH, Lessons, learn, spread
from tests.support.builders import DAY, small_case

CASE = small_case()
BIG = next(route for route in CASE.plan.routes if route.truck_id == "BIG")


class Season:
    """Days driven along the small plan, each as slow and as generous as it is told to be."""

    def __init__(self, road: float = 1.0, pour: float = 1.0, hive_s: float = 45.0) -> None:
        self.road, self.pour, self.hive_s = road, pour, hive_s
        self.events: list[Event] = []
        self.plans: dict[str, Plan] = {}
        self.as_planned = False

    def note(self, day: date, at: datetime, fact: Fact) -> None:
        seq = len(self.events) + 1
        self.events.append(Event(f"e{seq}", day, at, fact, "BIG", seq=seq))

    def drive(self, number: int) -> None:
        """One more day."""
        shift = timedelta(days=number)
        plan = _moved(CASE.plan, shift, f"plan{number}")
        self.plans[plan.plan_id] = plan
        day = DAY + shift
        route = next(route for route in plan.routes if route.truck_id == "BIG")
        now = route.stops[0].leave
        self.note(day, route.start, Planned(plan.plan_id))
        self.note(day, now, Started("BASE", _fills(route.stops[0])))
        for stop in route.stops[1:]:
            now += timedelta(seconds=round(stop.leg.drive_s * self.road))
            now = self._halt(day, stop, now)

    def _halt(self, day: date, stop: Stop, now: datetime) -> datetime:
        if stop.kind == "end":
            self.note(day, now, Finished("BASE"))
            return now
        if stop.kind == "break":
            now += timedelta(seconds=1800)
            self.note(day, now, Rested(1800))
            return now
        kind = "yard" if stop.kind == "yard" else "depot"
        self.note(day, now, Arrived(f"{kind}:{stop.place_id}"))
        if stop.kind == "refill":
            now += stop.leave - stop.begin
            self.note(day, now, Refilled(stop.place_id, _fills(stop)))
            return now
        now = max(now, stop.begin) if stop.place_id == "Y2" else now
        colonies = sum(p.colonies for p in stop.pour)
        setup_s = CASE.operation.yards[stop.place_id].setup_s
        now += timedelta(seconds=round(setup_s + colonies * self.hive_s))
        poured = tuple(
            Poured(
                p.group, p.feeder_id, p.syrup_id, p.colonies, round(p.volume_l * self.pour, 3), p.tank_id,
                p.pails,
            )
            for p in stop.pour
        )  # fmt: skip
        self.note(day, now, Fed(stop.place_id, poured, as_planned=self.as_planned))
        return now

    def lessons(self, operation: Operation = CASE.operation) -> Lessons:
        return learn(operation, self.events, self.plans)


def _fills(stop: Stop) -> tuple[Filled, ...]:
    return tuple(Filled(f.syrup_id, f.volume_l, f.tank_id, f.pails) for f in stop.fill)


def _moved(plan: Plan, shift: timedelta, plan_id: str) -> Plan:
    def stop(one: Stop) -> Stop:
        return replace(one, arrive=one.arrive + shift, begin=one.begin + shift, leave=one.leave + shift)

    def route(one: Route) -> Route:
        stops = tuple(stop(s) for s in one.stops)
        return replace(one, start=one.start + shift, end=one.end + shift, stops=stops)

    assumptions = CASE.operation.assumptions()
    return replace(
        plan, plan_id=plan_id, date=plan.date + shift, routes=tuple(route(r) for r in plan.routes),
        assumptions=assumptions,
    )  # fmt: skip


def season(days: int, **how: float) -> Season:
    made = Season(**how)
    for number in range(days):
        made.drive(number)
    return made


def lesson(found: Lessons, what: str, of: str = "all") -> tuple[int, float]:
    one = next(row for row in found.lessons if (row.what, row.of) == (what, of))
    return one.spread.count, one.spread.median


def proposed(found: Lessons, key: str) -> float:
    return next(p.proposed for p in found.proposals if p.key == key)


def test_the_spread_is_median_count_and_median_deviation() -> None:
    found = spread([1.0, 2.0, 3.0, 4.0, 100.0])
    assert (found.count, found.median, found.mad) == (5, 3.0, 1.0)
    assert spread([]).few
    assert spread([1.0] * (ENOUGH - 1)).few
    assert not spread([1.0] * ENOUGH).few


def test_days_as_planned_propose_what_is_there_already() -> None:
    found = season(6).lessons()
    assert lesson(found, "pour", "frame2") == (12, 1.0)
    assert lesson(found, "road")[1] == pytest.approx(1.0, abs=0.001)
    assert proposed(found, "travel.speed_km_per_h") == CASE.operation.travel.speed_km_per_h
    assert proposed(found, "feeding.margin") == 0.0


@pytest.mark.parametrize("slower", [0.8, 1.25])
def test_slow_roads_propose_a_slower_truck_in_proportion(slower: float) -> None:
    found = season(3, road=slower).lessons()
    # The last mile of Y5 is typed and does not come from the speed: its legs tell a little else.
    wanted = CASE.operation.travel.speed_km_per_h / slower
    assert proposed(found, "travel.speed_km_per_h") == pytest.approx(wanted, rel=0.01)


def test_crews_that_pour_more_than_planned_ask_for_a_margin() -> None:
    found = season(6, pour=1.07).lessons()
    assert lesson(found, "pour", "frame2")[1] == pytest.approx(1.07)
    assert proposed(found, "feeding.margin") == pytest.approx(0.07, abs=0.001)


def test_minutes_a_colony_are_told_by_feeder_and_crew_less_set_up_and_waiting() -> None:
    found = season(5, hive_s=60.0).lessons()
    rows = {(row.of, row.crew): row.spread.median for row in found.lessons if row.what == "handling"}
    assert rows["frame2", 2] == pytest.approx(60.0, abs=0.1)
    assert rows["top3", 2] == pytest.approx(60.0, abs=0.1)
    advice = {p.row: p.proposed for p in found.proposals if p.key == "service_s"}
    assert advice["frame2"] == 60.0


def test_minutes_a_colony_are_person_minutes() -> None:
    """60 s a colony by a pair, the second worth three quarters of the first, is 105 person-seconds."""
    work = replace(CASE.operation.work, second_pair=0.75)
    found = season(4, hive_s=60.0).lessons(replace(CASE.operation, work=work))
    rows = {(row.of, row.crew): row.spread.median for row in found.lessons if row.what == "handling"}
    assert rows["frame2", 2] == pytest.approx(105.0, abs=0.1)


def test_trucks_are_told_apart_where_each_has_visits_enough() -> None:
    made = season(6, hive_s=60.0)
    trucks = {row.truck_id for row in made.lessons().lessons if row.what == "handling"}
    feeders = {row.of for row in made.lessons().lessons if row.what == "handling" and row.truck_id}
    both = {
        feeder
        for feeder in CASE.operation.feeders
        if len({e.truck_id for e in made.events if isinstance(e.fact, Fed) and _only(e.fact, feeder)}) > 1
    }
    assert feeders == both
    assert trucks == ({"", "BIG", "SMALL"} if both else {""})


def _only(fact: Fed, feeder_id: str) -> bool:
    return {row.feeder_id for row in fact.pours} == {feeder_id}


def test_one_slip_of_the_finger_sways_nothing() -> None:
    made = season(6, road=1.1)
    fed = next(n for n, e in enumerate(made.events) if isinstance(e.fact, Fed) and e.fact.yard_id == "Y2")
    event = made.events[fed]
    assert isinstance(event.fact, Fed)
    slip = replace(event.fact.pours[0], volume_l=event.fact.pours[0].volume_l * 100)
    made.events[fed] = replace(event, fact=replace(event.fact, pours=(slip,)))
    assert lesson(made.lessons(), "pour", "frame2")[1] == 1.0
    assert proposed(made.lessons(), "feeding.margin") == 0.0


def test_what_was_noted_as_planned_teaches_nothing_about_pours() -> None:
    made = Season()
    made.as_planned = True
    for number in range(6):
        made.drive(number)
    assert not [row for row in made.lessons().lessons if row.what == "pour"]
    assert not [p for p in made.lessons().proposals if p.key == "feeding.margin"]


def test_few_data_are_shown_and_propose_nothing() -> None:
    made = season(1)
    first = made.lessons()
    assert not [p for p in first.proposals if p.key == "feeding.margin"]
    pour = next(row for row in first.lessons if (row.what, row.of) == ("pour", "top3"))
    assert pour.spread.few


def test_legs_without_a_noted_arrival_tell_nothing_of_the_road() -> None:
    made = season(4, road=2.0)
    made.events = [e for e in made.events if not isinstance(e.fact, Arrived)]
    assert not [p for p in made.lessons().proposals if p.key.startswith("travel")]


def test_another_way_of_travelling_gets_no_speed() -> None:
    roads = replace(CASE.operation, travel=replace(CASE.operation.travel, method="roads"))
    found = season(4, road=1.3).lessons(roads)
    assert lesson(found, "road")[1] == pytest.approx(1.3, abs=0.01)
    assert not [p for p in found.proposals if p.key.startswith("travel")]


def test_what_a_tank_lost_is_told_by_day_and_tank() -> None:
    made = season(1)
    end = max(e.at for e in made.events)
    book = 560.0 + 65.0 - sum(
        row.volume_l
        for e in made.events
        if isinstance(e.fact, Fed)
        for row in e.fact.pours
        if row.tank_id == "B1"
    )  # fmt: skip
    made.note(DAY, end, Gauged("B1", round(book - 4.0, 3)))
    row = next(row for row in made.lessons().tanks if row.tank_id == "B1")
    assert (row.day, row.truck_id, row.lost_l, row.gauged) == (DAY, "BIG", 4.0, True)
    assert lesson(made.lessons(), "loss") == (1, pytest.approx(4.0 / row.poured_l, abs=1e-6))


def test_what_a_meter_counts_beyond_the_notes_is_told() -> None:
    made = season(1)
    number = next(n for n, e in enumerate(made.events) if isinstance(e.fact, Fed) and e.fact.yard_id == "Y2")
    event = made.events[number]
    assert isinstance(event.fact, Fed)
    made.events[number] = replace(event, fact=replace(event.fact, meter=Meter(0.0, 306.0)))
    row = next(row for row in made.lessons().tanks if not row.tank_id)
    assert (row.poured_l, row.lost_l, row.gauged) == (300.0, 6.0, False)


def test_wash_downs_teach_how_long_they_take() -> None:
    made = season(5)
    for number in range(5):
        day = DAY + timedelta(days=number)
        evening = datetime.combine(day, datetime.min.time(), made.events[0].at.tzinfo) + timedelta(hours=23)
        made.note(day, evening, Arrived("depot:BASE"))
        made.note(day, evening + timedelta(minutes=41), Washed("BASE"))
    assert proposed(made.lessons(), "work.wash_s") == 41 * 60


@pytest.mark.parametrize("order", [list, reversed, lambda events: sorted(events, key=lambda e: e.event_id)])
def test_the_same_log_teaches_the_same(order: Callable[[list[Event]], list[Event]]) -> None:
    made = season(5, road=1.2, pour=1.03)
    assert learn(CASE.operation, list(order(made.events)), made.plans) == made.lessons()
