"""The latest arrival that still keeps gates, breaks and shift: by hand, and held against the audit."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from routing.audit import audit
from routing.domain.clock import TimeWindow
from routing.domain.fleet import Tank
from routing.domain.operation import Operation
from routing.domain.plan import Plan, Stop
from routing.domain.settings import ShiftSettings
from routing.planning.evaluate.schedule import time_route
from routing.planning.problem.build import build_days
from routing.travel.straight.straight import straight_travel
from tests.planning.plan.test_assemble import written
from tests.support.trade import DAY, HOUR, need, operation, truck, yard

SECOND = timedelta(seconds=1)


def shift(**more: object) -> ShiftSettings:
    usual = ShiftSettings(TimeWindow(6 * HOUR, 18 * HOUR), 12 * HOUR, 0, break_s=0)
    return replace(usual, **more)  # type: ignore[arg-type]


ROOMY = truck(gvwr_kg=14_000.0, tanks=(Tank("A", 4000.0),))
"""Nothing but hours binds."""


def planned(op: Operation, *routes: tuple[int, ...]) -> Plan:
    return written(op, [need(yard_id) for yard_id in op.yards], *(routes or (tuple(range(len(op.yards))),)))


def latest(stop: Stop) -> datetime:
    assert stop.latest_arrive is not None
    return stop.latest_arrive


def broken_by(op: Operation, plan: Plan, stop: Stop, moment: datetime) -> bool:
    """Whether the audit objects to a latest arrival."""
    stops = tuple(replace(s, latest_arrive=moment) if s == stop else s for s in plan.routes[0].stops)
    edited = replace(plan, routes=(replace(plan.routes[0], stops=stops), *plan.routes[1:]))
    findings = audit(op, straight_travel(op), edited).findings
    return any(f.code == "latest_arrive" and f.seq == stop.seq for f in findings)


def test_the_end_of_the_shift_bounds_every_stop_of_a_day_without_waits() -> None:
    op = operation([yard("A"), yard("B", km=20.0)], shift=shift())
    route = planned(op).routes[0]
    spare = {latest(stop) - stop.arrive for stop in route.stops[1:]}
    assert len(spare) == 1
    # The day may run until 18:00, or twelve hours from its start, whichever comes first.
    end = route.stops[-1]
    home = min(route.start + timedelta(hours=12), end.arrive.replace(hour=18, minute=0, second=0))
    assert spare == {home - end.arrive}


def test_a_gate_bounds_the_stops_before_it_and_not_those_after() -> None:
    gate = (TimeWindow(6 * HOUR, 9 * HOUR),)
    op = operation([yard("A"), yard("B", km=20.0, windows=gate), yard("C", km=30.0)], shift=shift())
    _, first, gated, after, _ = planned(op).routes[0].stops
    shut = gated.arrive.replace(hour=9, minute=0, second=0)
    stay = gated.leave - gated.begin if op.shift.leave_by_window else timedelta(0)
    assert latest(gated) == shut - stay
    assert latest(first) - first.arrive == latest(gated) - gated.arrive
    assert latest(after) - after.arrive > latest(gated) - gated.arrive


def test_a_wait_before_a_gate_is_spare_time_for_the_stops_before() -> None:
    gate = (TimeWindow(10 * HOUR, 12 * HOUR),)
    op = operation([yard("A"), yard("B", km=20.0, windows=gate)], shift=shift())
    plan = planned(op)
    for stop in plan.routes[0].stops[1:]:
        assert not broken_by(op, plan, stop, latest(stop))
        assert broken_by(op, plan, stop, latest(stop) + SECOND)


def test_the_break_clock_binds_before_the_break_and_not_after_it() -> None:
    rules = shift(break_s=1800, break_after_s=2 * HOUR)
    op = operation([yard(name, km=10.0 + 5 * i) for i, name in enumerate("ABCDE")], [ROOMY], shift=rules)
    plan = planned(op)
    stops = plan.routes[0].stops
    first_break = next(stop.seq for stop in stops if stop.kind == "break")
    due = plan.routes[0].start + timedelta(hours=2)
    rest = stops[first_break]
    assert latest(stops[first_break - 1]) - stops[first_break - 1].arrive == due - rest.begin
    for stop in stops[1:]:
        if stop.kind != "break":
            assert not broken_by(op, plan, stop, latest(stop))
            assert broken_by(op, plan, stop, latest(stop) + SECOND)


windows = st.one_of(
    st.just(()),
    st.tuples(st.integers(6, 9), st.integers(11, 14)).map(lambda w: (TimeWindow(w[0] * HOUR, w[1] * HOUR),)),
    st.just((TimeWindow(7 * HOUR, 9 * HOUR), TimeWindow(10 * HOUR, 15 * HOUR))),
)


@given(
    st.lists(windows, min_size=1, max_size=5),
    st.sampled_from([0, 1800]),
    st.sampled_from(["work", "driving"]),
)
def test_one_second_later_breaks_a_rule_and_the_latest_breaks_none(
    gates: list[tuple[TimeWindow, ...]], break_s: int, clock: str
) -> None:
    rules = shift(break_s=break_s, break_after_s=2 * HOUR, break_clock=clock)
    yards = [yard(f"Y{i}", km=8.0 + 6 * i, windows=gate) for i, gate in enumerate(gates)]
    op = operation(yards, [ROOMY], shift=rules)
    needs = [need(yard_id) for yard_id in op.yards]
    problem = build_days(op, straight_travel(op), DAY, needs)[0].problem
    assume(time_route(problem, 0, tuple(range(len(yards)))).fault is None)
    plan = planned(op)
    for stop in plan.routes[0].stops[1:]:
        if stop.kind == "break":
            continue
        assert not broken_by(op, plan, stop, latest(stop))
        # Where a wait is a pause from driving, a second less may still be made up by another pause.
        if clock == "work":
            assert broken_by(op, plan, stop, latest(stop) + SECOND)


def test_a_break_and_a_start_have_no_latest_arrival() -> None:
    op = operation([yard("A")], shift=shift())
    assert planned(op).routes[0].stops[0].latest_arrive is None
    with pytest.raises(AssertionError):
        latest(planned(op).routes[0].stops[0])
