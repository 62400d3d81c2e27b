"""What was noted yesterday is the state of this morning: who was fed, what tanks and depots hold."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routing.domain.operation import Operation
from routing.domain.places import ColonyGroup
from routing.log.carry.morning import morning_of
from routing.log.events import Event, Fact
from routing.log.facts import (
    Fed,
    Filled,
    Finished,
    Gauged,
    Mixed,
    Planned,
    Poured,
    Received,
    Refilled,
    Started,
    Urgent,
    Withdrawn,
)
from tests.support.builders import DAY, INSPECTED, small_case

CASE = small_case()
NEXT = DAY + timedelta(days=1)
ZONE = ZoneInfo("America/Chicago")
PLANS = {"morning": replace(CASE.plan, plan_id="morning")}


class Season:
    """Notes of several days, in the order noted."""

    def __init__(self) -> None:
        self.events: list[Event] = []

    def note(self, day: date, hour: float, fact: Fact, truck_id: str = "BIG", **more: Any) -> Event:
        moment = datetime(day.year, day.month, day.day, tzinfo=ZONE) + timedelta(hours=hour)
        number = len(self.events) + 1
        event = Event(f"e{number}", day, moment, fact, truck_id, seq=number, **more)
        self.events.append(event)
        return event

    def fed(self, yard_id: str, *pours: Poured, day: date = DAY, hour: float = 10.0) -> Event:
        return self.note(day, hour, Fed(yard_id, pours))

    def morning(self, day: date = NEXT, operation: Operation = CASE.operation, **more: Any) -> Operation:
        return morning_of(operation, self.events, PLANS, day, **more)


def pour(group: str, colonies: int, volume_l: float, tank: str = "B1", **more: Any) -> Poured:
    return Poured(group, "frame2", "S67", colonies, volume_l, tank, **more)


def groups(operation: Operation, yard_id: str) -> dict[str, ColonyGroup]:
    return {group.group: group for group in operation.groups_of(yard_id)}


def levels(operation: Operation) -> dict[str, tuple[str | None, float]]:
    return {t.tank_id: (t.syrup_id, t.level_l) for t in operation.trucks["BIG"].tanks}


def stock(operation: Operation, syrup_id: str = "S67") -> float | None:
    return next(row.on_hand_l for row in operation.depots["BASE"].stock if row.syrup_id == syrup_id)


def test_nothing_noted_leaves_the_files_as_they_are() -> None:
    assert Season().morning() == CASE.operation


def test_group_that_was_fed_remembers_when_and_how_much() -> None:
    season = Season()
    season.fed("Y2", pour("all", 40, 302.8))
    group = groups(season.morning(), "Y2")["all"]
    assert [(fed.each_l, fed.syrup_id) for fed in group.fed] == [(pytest.approx(7.57), "S67")]
    assert group.fed[0].at.hour == 10
    assert groups(season.morning(DAY), "Y2")["all"].fed == ()


def test_feeding_before_the_inspection_was_seen_by_it() -> None:
    season = Season()
    season.fed("Y2", pour("all", 40, 300.0), day=INSPECTED - timedelta(days=1))
    assert groups(season.morning(), "Y2")["all"].fed == ()
    season.fed("Y2", pour("all", 40, 300.0), day=INSPECTED)
    assert len(groups(season.morning(), "Y2")["all"].fed) == 1


def test_group_fed_in_part_is_two_groups_from_then_on() -> None:
    season = Season()
    season.fed("Y2", pour("all", 25, 189.25))
    found = groups(season.morning(), "Y2")
    assert {name: (g.colonies, len(g.fed)) for name, g in found.items()} == {
        "all, fed 16 Sep": (25, 1),
        "all, not fed yet": (15, 0),
    }
    assert {g.part_of for g in found.values()} == {"all"}


def test_those_that_waited_longest_are_fed_first() -> None:
    season = Season()
    season.fed("Y2", pour("all", 25, 189.25))
    season.fed("Y2", pour("all, not fed yet", 15, 113.55), day=NEXT)
    season.fed("Y2", pour("all", 10, 50.0), day=NEXT + timedelta(days=9))
    found = groups(season.morning(NEXT + timedelta(days=10)), "Y2")
    assert {name: (g.colonies, len(g.fed)) for name, g in found.items()} == {
        "all, fed 26 Sep": (10, 2),
        "all, fed 17 Sep": (15, 1),
        "all, fed 16 Sep": (15, 1),
    }


def test_one_visit_from_two_tanks_is_one_feeding() -> None:
    season = Season()
    season.fed("Y2", pour("all", 16, 130.0), pour("all", 24, 172.8, "B2"))
    group = groups(season.morning(), "Y2")["all"]
    assert (group.colonies, [fed.each_l for fed in group.fed]) == (40, [pytest.approx(7.57)])


def test_dead_colonies_are_not_fed_tomorrow() -> None:
    season = Season()
    season.fed("Y2", pour("all", 38, 287.66, alive=38))
    group = groups(season.morning(), "Y2")["all"]
    assert (group.colonies, len(group.fed)) == (38, 1)


def test_groups_of_a_yard_are_told_apart() -> None:
    season = Season()
    season.fed("Y1", pour("strong", 30, 200.0))
    found = groups(season.morning(), "Y1")
    assert (len(found["strong"].fed), len(found["weak"].fed)) == (1, 0)


def test_withdrawn_feeding_did_not_happen() -> None:
    season = Season()
    event = season.fed("Y2", pour("all", 40, 300.0))
    season.note(DAY, 11, Withdrawn(), "", corrects=event.event_id)
    assert season.morning() == CASE.operation


def test_tanks_and_stock_go_on_from_where_the_day_left_them() -> None:
    season = Season()
    season.note(DAY, 6, Started("BASE", (Filled("S67", 500.0, "B1"), Filled("HF55", 450.0, "B2"))))
    season.fed("Y2", pour("all", 40, 302.8))
    season.note(DAY, 13, Refilled("BASE", (Filled("S67", 100.0, "B1"),)))
    season.note(DAY, 18, Finished("BASE"))
    morning = season.morning()
    assert levels(morning) == {"B1": ("S67", pytest.approx(297.2)), "B2": ("HF55", 450.0)}
    assert stock(morning) == pytest.approx(6000 - 600)
    assert stock(morning, "HF55") == pytest.approx(3000 - 450)


def test_tank_that_was_emptied_may_hold_another_syrup_again() -> None:
    season = Season()
    season.note(DAY, 6, Started("BASE", (Filled("HF55", 100.0, "S1"),)), "SMALL")
    season.note(DAY, 18, Finished("BASE"), "SMALL")
    assert season.morning().trucks["SMALL"].tanks[0].syrup_id == "HF55"
    season.note(NEXT, 7, Gauged("S1", 0.0), "SMALL")
    assert season.morning(NEXT + timedelta(days=1)).trucks["SMALL"].tanks[0].syrup_id is None


def test_gauge_is_believed_before_the_book() -> None:
    season = Season()
    season.note(DAY, 6, Started("BASE", (Filled("S67", 500.0, "B1"),)))
    season.note(DAY, 18, Gauged("B1", 420.0))
    assert levels(season.morning())["B1"] == ("S67", 420.0)


def test_what_is_gauged_mixed_and_delivered_before_the_trucks_leave_counts_today() -> None:
    season = Season()
    season.note(NEXT, 5, Gauged("B1", 80.0))
    season.note(NEXT, 5, Mixed("BASE", "S67", 400.0), "")
    season.note(NEXT, 5.5, Received("BASE", "HF55", 1000.0), "")
    season.note(NEXT, 6, Started("BASE", (Filled("S67", 300.0, "B1"),)))
    season.note(NEXT, 9, Mixed("BASE", "S67", 900.0), "")
    morning = season.morning()
    assert levels(morning)["B1"] == ("S67", 80.0)
    assert (stock(morning), stock(morning, "HF55")) == (6400.0, 4000.0)
    # The fold of that day takes these notes itself.
    assert season.morning(today=False) == CASE.operation


def test_full_pails_that_come_home_are_in_store_again() -> None:
    season = Season()
    season.note(DAY, 6, Started("BASE", (Filled("S67", 150.0, None, 20),)))
    season.fed("Y5", Poured("all", "pail2", "S67", 12, 90.0, None, 12))
    season.note(DAY, 18, Finished("BASE"))
    assert stock(season.morning()) == pytest.approx(6000 - 90)


def test_count_typed_with_its_date_replaces_the_book_from_that_morning() -> None:
    depot = CASE.operation.depots["BASE"]
    counted = tuple(replace(row, on_hand_l=5000.0, counted=NEXT) for row in depot.stock)
    tank = replace(CASE.operation.trucks["BIG"].tanks[0], level_l=33.0, gauged=NEXT)
    big = replace(CASE.operation.trucks["BIG"], tanks=(tank, *CASE.operation.trucks["BIG"].tanks[1:]))
    typed = replace(
        CASE.operation,
        depots={**CASE.operation.depots, "BASE": replace(depot, stock=counted)},
        trucks={**CASE.operation.trucks, "BIG": big},
    )
    season = Season()
    season.note(DAY, 6, Started("BASE", (Filled("S67", 500.0, "B1"),)))
    season.note(NEXT, 6, Started("BASE", (Filled("S67", 100.0, "B1"),)))
    assert stock(season.morning(NEXT, typed)) == 5000.0
    assert levels(season.morning(NEXT, typed))["B1"] == ("S67", 33.0)
    assert stock(season.morning(NEXT + timedelta(days=1), typed)) == 4900.0


def test_truck_whose_start_nobody_noted_left_with_the_load_of_its_plan() -> None:
    season = Season()
    season.note(DAY, 5, Planned("morning"), "")
    season.fed("Y1", pour("strong", 30, 225.0))
    loaded = next(r for r in CASE.plan.routes if r.truck_id == "BIG").stops[0].fill
    front_l = sum(fill.volume_l for fill in loaded if fill.tank_id == "B1")
    assert levels(season.morning())["B1"][1] == pytest.approx(front_l - 225.0)


VISITS = st.lists(
    st.tuples(st.integers(-3, 12), st.integers(0, 45), st.floats(0, 350), st.sampled_from(["B1", "B2"])),
    max_size=6,
)


@given(VISITS)
def test_no_colony_and_no_litre_is_lost_on_the_way(
    visits: list[tuple[int, int, float, str]],
) -> None:
    season = Season()
    for days, colonies, volume_l, tank in visits:
        season.fed("Y2", pour("all", colonies, volume_l, tank), day=DAY + timedelta(days=days))
    last = DAY + timedelta(days=20)
    found = groups(season.morning(last), "Y2").values()
    assert sum(group.colonies for group in found) == 40
    carried_l = sum(fed.each_l * group.colonies for group in found for fed in group.fed)
    assert carried_l == pytest.approx(sum(volume_l for _, _, volume_l, _ in visits), abs=1e-6)
    assert len({group.group for group in found}) == len(found)


def test_a_yard_called_in_for_tomorrow_is_marked_tomorrow_and_on_no_other_day() -> None:
    season = Season()
    season.note(NEXT, -10.0, Urgent("Y9", words="light as a feather"))
    assert season.morning(NEXT).yards["Y9"].called_in == "light as a feather"
    assert season.morning(DAY).yards["Y9"].called_in == ""
    assert season.morning(NEXT + timedelta(days=1)).yards["Y9"].called_in == ""
    assert season.morning(NEXT, today=False).yards["Y9"].called_in == ""


def test_a_call_is_answered_by_feeding_the_yard_or_withdrawn() -> None:
    season = Season()
    call = season.note(NEXT, 7.0, Urgent("Y9"))
    season.fed("Y9", pour("all", 36, 270.0), day=NEXT)
    assert season.morning(NEXT).yards["Y9"].called_in == ""
    season = Season()
    call = season.note(NEXT, 7.0, Urgent("Y9"))
    assert season.morning(NEXT).yards["Y9"].called_in == "called in"
    season.note(NEXT, 8.0, Withdrawn(), corrects=call.event_id)
    assert season.morning(NEXT).yards["Y9"].called_in == ""
