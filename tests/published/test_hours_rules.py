"""Shift rules held against the published text of two hours-of-service rules, through the audit.

49 CFR 395.3(a), property-carrying vehicles: (2) no driving after the 14th consecutive hour after coming
on duty; (3)(i) at most 11 hours of driving in it; (3)(ii) no driving once more than 8 hours of driving
have passed without at least a consecutive 30-minute interruption in driving, which any time without
driving satisfies.

Regulation (EC) No 561/2006: Art. 6(1) at most 9 hours of driving a day; Art. 7 after four and a half
hours of driving a break of at least 45 minutes. (That regulation counts no other work as a break, and
lets a break be split 15 + 30 minutes; the audit knows neither, so the break is taken here as one.)
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from routing.audit import audit
from routing.domain.clock import TimeWindow
from routing.domain.operation import Operation
from routing.domain.settings import ShiftSettings
from routing.domain.travel import Matrix, Travel
from tests.support.builders import DAY, HOUR, days_of_stores, small_operation, straight_travel
from tests.support.simulator import End, Feed, Fill, Load, Pour, Rest, Step, build_plan, drive

MIN = 60
START = 4 * HOUR
DAY_LONG = TimeWindow(0, 24 * HOUR)

US = ShiftSettings(
    window=DAY_LONG, max_s=14 * HOUR, overtime_s=0, break_s=30 * MIN, break_after_s=8 * HOUR,
    break_clock="driving", max_driving_s=11 * HOUR,
)  # fmt: skip
EU = replace(US, break_s=45 * MIN, break_after_s=int(4.5 * HOUR), max_driving_s=9 * HOUR)
"""Article 6 has no 14-hour window; the daily rest of Article 8 leaves 13 to 15 hours."""


def found(shift: ShiftSettings, out_s: int, back_s: int, *rests: int, stand_s: int = 20 * MIN) -> set[str]:
    """Codes found for a day out to one yard and back: driving, standing there, and breaks at the yard."""
    operation = _operation(shift, stand_s)
    travel = _travel(operation, out_s, back_s)
    pour = (Pour("all", "frame2", "S67", 1, 7.5, "S1"),)
    steps: list[Step] = [Load("BASE", (Fill("S67", 10.0, "S1"),)), Feed("Y4", pour)]
    steps += [Rest(seconds) for seconds in rests]
    route = drive(operation, travel, DAY, "SMALL", START, [*steps, End("BASE")])
    plan = build_plan(operation, DAY, (route,), (), ())
    return {finding.code for finding in audit(operation, travel, plan).findings}


def _operation(shift: ShiftSettings, stand_s: int) -> Operation:
    """One yard of one colony, where the crew stands for a given time in all."""
    op = small_operation()
    group = replace(next(g for g in op.groups if g.yard_id == "Y4"), colonies=1)
    yard = replace(op.yards["Y4"], setup_s=stand_s - 45)
    base = replace(op.depots["BASE"], windows=(), setup_s=0)
    assert days_of_stores(group.stores.stores_kg or 0.0) > op.feeding.starving_days
    return replace(op, yards={"Y4": yard}, groups=(group,), depots={"BASE": base}, shift=shift)


def _travel(operation: Operation, out_s: int, back_s: int) -> Travel:
    plain = straight_travel(operation)
    seconds = np.array([[0, out_s], [back_s, 0]], dtype=np.int64)
    return replace(plain, matrix=Matrix(plain.matrix.distance_m, seconds))


LOADING_S = math.ceil(10.0 / 2.0)


def test_eleven_hours_may_be_driven_and_not_a_second_more() -> None:
    assert found(US, 6 * HOUR, 5 * HOUR, 30 * MIN) == set()
    assert found(US, 6 * HOUR, 5 * HOUR + 1, 30 * MIN) == {"driving_hours"}


def test_eight_hours_may_be_driven_at_a_stretch_and_not_a_second_more() -> None:
    assert found(US, 4 * HOUR, 4 * HOUR) == set()
    assert found(US, 4 * HOUR, 4 * HOUR + 1) == {"break_missed"}
    assert found(US, 8 * HOUR + 1, HOUR) == {"break_missed"}


def test_any_thirty_minutes_without_driving_interrupt_it() -> None:
    assert found(US, 5 * HOUR, 4 * HOUR, stand_s=30 * MIN) == set()
    assert found(US, 5 * HOUR, 4 * HOUR, stand_s=30 * MIN - 1) == {"break_missed"}


def test_the_thirty_minutes_are_consecutive_work_and_rest_together() -> None:
    no_least = replace(US, break_s=30 * MIN)
    codes = found(no_least, 5 * HOUR, 4 * HOUR, 10 * MIN, stand_s=20 * MIN)
    assert "break_missed" not in codes
    assert "break_missed" in found(no_least, 5 * HOUR, 4 * HOUR, 10 * MIN - 1, stand_s=20 * MIN)


def test_nobody_drives_after_the_fourteenth_hour_on_duty() -> None:
    driven_s = 10 * HOUR
    stand_s = 14 * HOUR - driven_s - LOADING_S
    assert found(US, 5 * HOUR, 5 * HOUR, stand_s=stand_s) == set()
    assert found(US, 5 * HOUR, 5 * HOUR, stand_s=stand_s + 1) == {"work_hours"}


def test_a_break_does_not_stretch_the_fourteen_hours() -> None:
    stand_s = 14 * HOUR - 10 * HOUR - LOADING_S
    assert found(US, 5 * HOUR, 5 * HOUR, HOUR, stand_s=stand_s - HOUR) == set()
    assert found(US, 5 * HOUR, 5 * HOUR, HOUR, stand_s=stand_s - HOUR + 1) == {"work_hours"}


def test_in_europe_nine_hours_may_be_driven() -> None:
    assert found(EU, int(4.5 * HOUR), int(4.5 * HOUR), 45 * MIN) == set()
    assert "driving_hours" in found(EU, int(4.5 * HOUR), int(4.5 * HOUR) + 1, 45 * MIN)


def test_in_europe_four_and_a_half_hours_call_for_a_break_of_three_quarters() -> None:
    assert found(EU, int(2.5 * HOUR), 2 * HOUR) == set()
    assert found(EU, int(2.5 * HOUR), 2 * HOUR + 1) == {"break_missed"}
    assert found(EU, int(2.5 * HOUR), 2 * HOUR + 1, 45 * MIN) == set()
    short = found(EU, int(2.5 * HOUR), 2 * HOUR + 1, 45 * MIN - 1, stand_s=MIN)
    assert "break_shape" in short
