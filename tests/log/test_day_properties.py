"""Whatever is noted, the state of the day holds together; the same notes always give the same state."""

from __future__ import annotations

import tempfile
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routing.domain.plan import Plan
from routing.files.log.log import DayLog
from routing.log.corrections import in_force, replaced_by
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
from tests.log.test_day_state import _rest_plan
from tests.support.builders import DAY, small_case

CASE = small_case()
NOON = _rest_plan()


def _loading_first(plan: Plan) -> Plan:
    """A plan of the rest of the day that begins with a refill."""
    (route,) = plan.routes
    fill = next(r.stops[0].fill for r in CASE.plan.routes if r.truck_id == route.truck_id)
    stops = (replace(route.stops[0], fill=fill), *route.stops[1:])
    return replace(plan, plan_id="loads", replaces="noon", routes=(replace(route, stops=stops),))


PLANS = {"morning": replace(CASE.plan, plan_id="morning"), "noon": NOON, "loads": _loading_first(NOON)}
CLOCK = CASE.operation.clock(DAY)
MIDNIGHT = CLOCK.at(0)

yards = st.sampled_from([*CASE.operation.yards, "gone"])
depots = st.sampled_from([*CASE.operation.depots])
trucks = st.sampled_from([*CASE.operation.trucks, "gone"])
tanks = st.sampled_from(["B1", "B2", "S1", "gone"])
syrups = st.sampled_from(["S67", "HF55"])
litres = st.floats(0, 2000, allow_nan=False).map(lambda value: round(value, 3))
moments = st.integers(0, 86_400).map(lambda s: MIDNIGHT + timedelta(seconds=s))
places = st.one_of(yards.map(lambda y: f"yard:{y}"), depots.map(lambda d: f"depot:{d}"))
few = st.integers(0, 60)
pours = st.builds(
    Poured, st.sampled_from(["all", "strong", "weak"]), st.just("frame2"), syrups, few, litres,
    st.none() | tanks, few, st.just(""), st.none() | few, st.none() | few,
)  # fmt: skip
fills = st.builds(Filled, syrups, litres, st.none() | tanks, few)
until = st.none() | moments
meters = st.tuples(litres, litres).map(lambda pair: Meter(min(pair), max(pair)))

facts: st.SearchStrategy[Fact] = st.one_of(
    st.builds(Started, depots, st.lists(fills, max_size=3).map(tuple)),
    st.builds(Arrived, places),
    st.builds(Left),
    st.builds(Fed, yards, st.lists(pours, max_size=3).map(tuple), st.none() | meters, st.booleans()),
    st.builds(Skipped, yards, st.sampled_from(SkipReason), st.just(""), until),
    st.builds(Refilled, depots, st.lists(fills, max_size=3).map(tuple)),
    st.builds(Gauged, tanks, litres),
    st.builds(Mixed, depots, syrups, st.floats(1, 500)),
    st.builds(Washed, depots),
    st.builds(Rested, st.integers(60, 7200)),
    st.builds(TruckOut),
    st.builds(TruckBack),
    st.builds(DepotClosed, depots, until),
    st.builds(YardClosed, yards, until),
    st.builds(Urgent, yards),
    st.builds(Finished, depots),
    st.builds(Planned, st.sampled_from(["morning", "noon", "loads", "lost"]), st.booleans()),
)


@st.composite
def logs(draw: st.DrawFn) -> list[Event]:
    """Notes in the order recorded, their times in any order, some correcting or withdrawing others."""
    events: list[Event] = []
    for number in range(draw(st.integers(0, 25))):
        fact: Fact = draw(facts)
        corrects = draw(st.sampled_from([e.event_id for e in events])) if events and draw(few) < 12 else ""
        if corrects and draw(st.booleans()):
            fact = Withdrawn()
        events.append(Event(f"e{number}", DAY, draw(moments), fact, draw(trucks), corrects, seq=number + 1))
    return events


def _state(events: list[Event], hour: float = 24) -> DayNow:
    return day_now(CASE.operation, DAY, PLANS, events, MIDNIGHT + timedelta(hours=hour))


@given(logs(), st.floats(0, 30))
@settings(max_examples=300)
def test_any_notes_give_a_state_that_holds_together(events: list[Event], hour: float) -> None:
    now = _state(events, hour)
    assert set(now.trucks) == set(CASE.operation.trucks)
    for truck_id, truck in now.trucks.items():
        capacity = {t.tank_id: t.capacity_l for t in CASE.operation.trucks[truck_id].tanks}
        assert set(truck.tanks) == set(capacity)
        for name, tank in truck.tanks.items():
            assert 0 <= tank.volume_l <= capacity[name]
            assert (tank.syrup_id is None) == (tank.volume_l == 0)
        assert all(row.count > 0 and row.volume_l >= 0 for row in truck.pails.values())
        assert truck.pails_empty >= 0
        assert min(truck.worked_s, truck.driven_s, truck.rested_s, truck.since_break_s) >= 0
        assert truck.since_break_s <= truck.worked_s
        assert 0 <= truck.driving_since_pause_s <= truck.driven_s
        assert truck.hygiene_rank in (0, 1, 2)
        assert (truck.status == "not_started") == (truck.started is None and truck.status != "out")
        assert truck.status == "working" or not truck.underway
    for yard in now.yards.values():
        for group in yard.groups:
            assert 0 <= group.left_colonies <= max(0, group.due_colonies - group.fed_colonies)
            assert min(group.fed_colonies, group.poured_l, group.expected_l, group.each_l) >= 0
        assert (yard.status == "part") <= (yard.left_colonies > 0)
        assert (yard.status == "done") <= (yard.left_colonies == 0)
        assert (yard.status == "skipped") <= (yard.skipped is not None)
    for depot in now.depots.values():
        assert all(level is None or level >= 0 for level in depot.stock_l.values())
    assert {gap.code for gap in now.gaps} <= set(GAPS)


@given(logs())
@settings(max_examples=150)
def test_yards_have_got_what_was_noted_no_less_and_no_more(events: list[Event]) -> None:
    noted: dict[str, float] = {}
    for event in in_force(events):
        if isinstance(event.fact, Fed) and event.truck_id in CASE.operation.trucks:
            litres = sum(row.volume_l for row in event.fact.pours)
            noted[event.fact.yard_id] = noted.get(event.fact.yard_id, 0.0) + litres
    got = {
        yard_id: sum(group.poured_l for group in yard.groups)
        for yard_id, yard in _state(events, 30).yards.items()
    }
    assert {y: v for y, v in got.items() if v} == pytest.approx(
        {y: v for y, v in noted.items() if v}, abs=0.01
    )


@given(logs(), st.randoms(use_true_random=False))
@settings(max_examples=100)
def test_the_order_in_which_events_are_handed_over_is_of_no_matter(
    events: list[Event], chance: Random
) -> None:
    mixed = list(events)
    chance.shuffle(mixed)
    assert _state(mixed) == _state(events)


@given(logs())
@settings(max_examples=60)
def test_replaying_the_log_from_the_file_gives_the_same_state(events: list[Event]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "day_log.sqlite3"
        with DayLog(path) as log:
            log.add_all(events)
        with DayLog(path) as log:
            assert _state(list(log.events())) == _state(events)


@given(logs(), st.integers(0, 86_400))
@settings(max_examples=100)
def test_what_comes_later_does_not_change_how_it_stood(events: list[Event], second: int) -> None:
    hour = second / 3600
    # A plan of the whole day and a noted start hold backwards; so do corrections.
    backwards = [e for e in events if isinstance(e.fact, Planned) and not e.fact.rest]
    backwards += [e for e in events if e.corrects or isinstance(e.fact, Started)]
    kept = [e for e in events if e not in backwards]
    past = [e for e in kept if e.at <= MIDNIGHT + timedelta(hours=hour)]
    assert _state(past, hour) == _state(kept, hour)


@given(logs())
def test_an_event_holds_or_is_replaced_and_never_both(events: list[Event]) -> None:
    holding = [e.event_id for e in in_force(events)]
    gone = replaced_by(events)
    assert len(holding) == len(set(holding))
    assert not set(holding) & set(gone)
    withdrawn = {e.event_id for e in events if isinstance(e.fact, Withdrawn)}
    assert set(holding) | set(gone) | withdrawn == {e.event_id for e in events}


@given(logs())
@settings(max_examples=100)
def test_a_pour_withdrawn_leaves_the_day_as_if_it_had_never_been(events: list[Event]) -> None:
    plain = [e for e in events if not e.corrects]
    fact = Fed("Y2", (Poured("all", "frame2", "S67", 40, 300.0, "B1"),))
    pour = Event("x", DAY, MIDNIGHT + timedelta(hours=9), fact, "BIG", seq=100)
    gone = Event("y", DAY, MIDNIGHT + timedelta(hours=19), Withdrawn(), "", "x", seq=101)
    assert replace(_state([*plain, pour, gone]), events=0) == replace(_state(plain), events=0)
