"""Daylight and warmth narrow a yard's hours where the keeper wants that."""

from __future__ import annotations

from dataclasses import replace

from routing.domain.clock import TimeWindow
from routing.domain.operation import Operation
from routing.domain.ration import YardNeed
from routing.domain.settings import FeedingSettings, ShiftSettings, WorkSettings
from routing.need.air.day_curve import air_at_c
from routing.need.air.sun import daylight
from routing.planning.problem.build import build_days
from routing.planning.problem.problem import Visit
from routing.travel.straight.straight import straight_travel
from tests.support.trade import DAY, HOUR, need, operation, yard

LONG = ShiftSettings(window=TimeWindow(4 * HOUR, 22 * HOUR))


def visit(op: Operation, wanted: YardNeed) -> Visit:
    return build_days(op, straight_travel(op), DAY, [wanted])[0].problem.visits[0]


def test_a_visit_lies_between_sunrise_and_sunset_and_in_the_gate_hours() -> None:
    work = WorkSettings(daylight_only=True)
    gate = (TimeWindow(5 * HOUR, 12 * HOUR),)
    op = operation([yard("A", windows=gate)], shift=LONG, work=work)
    light = daylight(op.yards["A"].position, DAY, op.timezone)
    assert light is not None
    rise_s = op.clock(DAY).seconds(light.rise)
    assert 6 * HOUR < rise_s < 8.5 * HOUR
    ((begins, ends),) = visit(op, need("A")).windows
    assert 0 <= begins - rise_s <= 1
    assert ends == 12 * HOUR
    assert visit(replace(op, work=WorkSettings()), need("A")).windows == ((5 * HOUR, 12 * HOUR),)


def test_a_night_shift_gets_no_hours_but_its_ends() -> None:
    night = ShiftSettings(window=TimeWindow(21 * HOUR, 29 * HOUR))
    op = operation([yard("A")], shift=night, work=WorkSettings(daylight_only=True))
    assert visit(op, need("A")).windows == ()


def test_hives_are_opened_only_at_warm_hours_where_so_set() -> None:
    feeding = FeedingSettings(syrup_id="S67", min_feed_c=10.0, temperature_c=18.0, low_c=2.0, margin=0.0)
    op = operation([yard("A")], shift=LONG, feeding=replace(feeding, warm_hours_only=True))
    feeders = {k: replace(f, opens_hive=True) for k, f in op.feeders.items()}
    op = replace(op, feeders=feeders)
    ((begins, ends),) = visit(op, need("A")).begin
    clock, place = op.clock(DAY), op.yards["A"]
    assert air_at_c(place, op, clock.at(begins)) >= 10.0 > air_at_c(place, op, clock.at(begins - 300))
    assert air_at_c(place, op, clock.at(ends)) >= 10.0 > air_at_c(place, op, clock.at(ends + 300))
    shut = replace(op, feeders={k: replace(f, opens_hive=False) for k, f in op.feeders.items()})
    assert visit(shut, need("A")).begin[0][0] < 0
