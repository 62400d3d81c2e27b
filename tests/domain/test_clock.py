"""The clock of a feeding day: night windows, and the two days a year when clocks change."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from routing.domain.clock import ALL_DAY, DayClock, TimeWindow
from routing.domain.errors import ValueRefused
from routing.domain.units import DAY_S

H = 3600
ORDINARY = DayClock(date(2026, 9, 28), "America/Chicago")
SPRING = DayClock(date(2026, 3, 8), "America/Chicago")
AUTUMN = DayClock(date(2026, 11, 1), "America/Chicago")
ZONES = ("America/Chicago", "Europe/Berlin", "Australia/Lord_Howe", "America/Santiago", "Asia/Kolkata")


def test_on_an_ordinary_day_elapsed_time_is_the_wall_clock() -> None:
    assert ORDINARY.elapsed_s(6 * H + 1800) == 6 * H + 1800
    assert ORDINARY.at(6 * H).isoformat() == "2026-09-28T06:00:00-05:00"


def test_seven_in_the_morning_is_six_hours_on_when_clocks_go_forward() -> None:
    assert SPRING.elapsed_s(7 * H) == 6 * H
    assert SPRING.at(6 * H).isoformat() == "2026-03-08T07:00:00-05:00"


def test_seven_in_the_morning_is_eight_hours_on_when_clocks_go_back() -> None:
    assert AUTUMN.elapsed_s(7 * H) == 8 * H
    assert AUTUMN.at(8 * H).isoformat() == "2026-11-01T07:00:00-06:00"


def test_hour_that_comes_twice_is_told_apart_by_its_offset() -> None:
    first, second = AUTUMN.at(H + 1800), AUTUMN.at(2 * H + 1800)
    assert (first.hour, second.hour) == (1, 1)
    assert first.utcoffset() != second.utcoffset()
    assert AUTUMN.seconds(second) - AUTUMN.seconds(first) == H


def test_reading_past_midnight_is_of_the_next_day() -> None:
    assert ORDINARY.elapsed_s(DAY_S + 3 * H) == DAY_S + 3 * H
    assert DayClock(date(2026, 3, 7), "America/Chicago").elapsed_s(DAY_S + 3 * H) == DAY_S + 2 * H


def test_time_from_another_zone_is_the_same_moment() -> None:
    moment = datetime(2026, 9, 28, 14, tzinfo=ZoneInfo("UTC"))
    assert ORDINARY.seconds(moment) == 9 * H


@given(
    st.dates(date(2024, 1, 1), date(2027, 12, 31)),
    st.sampled_from(ZONES),
    st.integers(-DAY_S, 2 * DAY_S),
)
def test_elapsed_seconds_survive_the_way_to_local_time_and_back(day: date, zone: str, s: int) -> None:
    clock = DayClock(day, zone)
    assert clock.seconds(clock.at(s)) == s
    assert clock.at(s + 60) - clock.at(s).astimezone(ZoneInfo("UTC")) == timedelta(seconds=60)


@given(st.dates(date(2024, 1, 1), date(2027, 12, 31)), st.sampled_from(ZONES))
def test_day_begins_at_its_first_moment(day: date, zone: str) -> None:
    clock = DayClock(day, zone)
    assert clock.at(0).date() == day
    assert clock.at(-1).date() == day - timedelta(days=1)


def test_several_windows_a_day_come_in_order_however_written() -> None:
    windows = (TimeWindow(16 * H, 20 * H), TimeWindow(6 * H, 11 * H))
    assert ORDINARY.openings(windows, 0, DAY_S - 1) == ((6 * H, 11 * H), (16 * H, 20 * H))


def test_windows_that_touch_are_one() -> None:
    windows = (TimeWindow(6 * H, 11 * H), TimeWindow(11 * H, 12 * H), TimeWindow(8 * H, 9 * H))
    assert ORDINARY.openings(windows, 0, DAY_S - 1) == ((6 * H, 12 * H),)


def test_night_window_is_open_after_midnight_of_both_nights() -> None:
    night = (TimeWindow(21 * H, 27 * H),)
    assert ORDINARY.openings(night, 0, DAY_S - 1) == ((-3 * H, 3 * H), (21 * H, 27 * H))


def test_night_shift_meets_the_gate_of_the_next_morning() -> None:
    gate = (TimeWindow(5 * H, 7 * H),)
    assert ORDINARY.openings(gate, 20 * H, 30 * H) == ((29 * H, 31 * H),)


def test_no_window_means_always_open() -> None:
    always = ORDINARY.openings((), 0, 30 * H)
    assert len(always) == 1
    assert always[0][0] <= 0
    assert always[0][1] >= 30 * H
    assert always == ORDINARY.openings((ALL_DAY,), 0, 30 * H)


def test_gate_hours_are_wall_hours_on_the_days_clocks_change() -> None:
    gate = (TimeWindow(6 * H, 10 * H),)
    assert SPRING.openings(gate, 0, 20 * H) == ((5 * H, 9 * H),)
    assert AUTUMN.openings(gate, 0, 20 * H) == ((7 * H, 11 * H),)


def test_always_open_has_no_gap_on_the_days_clocks_change() -> None:
    for clock in (SPRING, AUTUMN):
        ((start, end),) = clock.openings((), 0, 30 * H)
        assert start <= 0
        assert end >= 30 * H


@given(
    st.sampled_from([ORDINARY, SPRING, AUTUMN]),
    st.lists(st.tuples(st.integers(0, 95), st.integers(1, 96)), min_size=1, max_size=4),
)
@example(SPRING, [(10, 3)])
def test_openings_are_in_order_apart_and_never_end_before_they_start(
    clock: DayClock, quarters: list[tuple[int, int]]
) -> None:
    windows = [TimeWindow(start * 900, (start + length) * 900) for start, length in quarters]
    flat = [s for pair in clock.openings(windows, 0, DAY_S + 12 * H) for s in pair]
    assert flat == sorted(set(flat))


@pytest.mark.parametrize(
    ("start_s", "end_s"), [(-1, H), (DAY_S, DAY_S + H), (H, H), (2 * H, H), (0, DAY_S + 1)]
)
def test_window_that_cannot_be_is_refused(start_s: int, end_s: int) -> None:
    with pytest.raises(ValueRefused):
        TimeWindow(start_s, end_s)


def test_a_moment_after_the_changed_midnight_meets_the_gate_hours_of_that_day() -> None:
    soon = (TimeWindow(500, 6000),)
    # Midnight comes 23 h after midnight in spring and 25 h after it in autumn.
    assert SPRING.openings(soon, 23 * H + 600, 23 * H + 600) == ((23 * H + 500, 23 * H + 6000),)
    assert AUTUMN.openings(soon, 25 * H + 600, 25 * H + 600) == ((25 * H + 500, 25 * H + 6000),)
    late = (TimeWindow(20 * H, 44 * H),)
    assert AUTUMN.openings(late, 24 * H, 24 * H + 1)[0][0] <= 24 * H
