"""State when a yard may be worked: gate hours, daylight, late in the day, hours warm enough."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta

from routing.domain.places import Yard
from routing.domain.ration import YardNeed
from routing.need.air.day_curve import air_at_c
from routing.need.air.sun import daylight
from routing.planning.problem.frame import Frame
from routing.planning.problem.problem import FOREVER, Windows, meet

STEP_S = 300
"""The curve of a day is no finer than this."""


def stay_openings(frame: Frame, yard: Yard) -> Windows:
    """When the whole visit may lie (its beginning, where gates do not bind the end)."""
    gates = frame.clock.openings(yard.windows, frame.earliest_s, frame.latest_s)
    return meet(gates, _daylight(frame, yard)) if frame.operation.work.daylight_only else gates


def begin_openings(frame: Frame, need: YardNeed) -> Windows:
    """When feeding may begin, besides the gate hours."""
    late = need.windows or ()
    begin = frame.clock.openings(late, frame.earliest_s, frame.latest_s) if late else FOREVER
    feeders = (frame.operation.feeders[dose.feeder_id] for dose in need.doses)
    if frame.operation.feeding.warm_hours_only and any(feeder.opens_hive for feeder in feeders):
        return meet(begin, _warm(frame, frame.operation.yards[need.yard_id]))
    return begin


def _daylight(frame: Frame, yard: Yard) -> Windows:
    """From sunrise to sunset, in whole seconds inside."""
    spans = []
    for days in (-1, 0, 1, 2):
        light = daylight(yard.position, frame.date + timedelta(days=days), frame.operation.timezone)
        if light is not None:
            spans.append((frame.clock.seconds(light.rise) + 1, frame.clock.seconds(light.set) - 1))
    return tuple((a, b) for a, b in spans if b >= frame.earliest_s and a <= frame.latest_s)


def _warm(frame: Frame, yard: Yard) -> Windows:
    """Stretches of the shifts at which the air is as warm as liquid feed asks for."""
    op, clock = frame.operation, frame.clock
    least_c = op.feeding.min_feed_c
    moments = range(frame.earliest_s, frame.latest_s + STEP_S, STEP_S)
    return _stretches([at for at in moments if air_at_c(yard, op, clock.at(at)) >= least_c])


def _stretches(moments: Sequence[int]) -> Windows:
    """Moments a step apart joined to spans."""
    spans: list[tuple[int, int]] = []
    for at in moments:
        if spans and at - spans[-1][1] <= STEP_S:
            spans[-1] = (spans[-1][0], at)
        else:
            spans.append((at, at))
    return tuple(spans)
