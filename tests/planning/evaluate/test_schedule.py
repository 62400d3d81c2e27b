"""When a truck is where: fill time, gates, late starts, breaks, hours."""

from __future__ import annotations

from dataclasses import replace

from routing.planning.evaluate.loads import Fault
from routing.planning.evaluate.schedule import time_route
from routing.planning.problem.problem import Supply, TruckSpec
from tests.support.hand import FIELD, HOME, HOUR, along, depot, pails, truck, visit


def test_filling_takes_set_up_time_and_the_amount_at_the_rate_of_the_pump() -> None:
    base = depot(setup_s=300, supplies=(Supply(2000.0),))
    problem = along([0, 30], [visit(1, 250.0)], depots=[base])
    timing = time_route(problem, 0, (0,))
    assert timing.service_s[0] == 300 + 125
    assert timing.drive_s == [0, 1800, 1800]
    assert timing.work_s == 425 + 3600


def test_pails_take_their_handling_time_and_their_syrup_its_filling_time() -> None:
    base = depot(setup_s=60, supplies=(Supply(500.0),))
    four = replace(pails(1, 4), pail_ml=(20_000,))
    problem = along([0, 30], [four, visit(1)], [truck(pail_slots=4)], [base], pail_load_s=7.3)
    assert time_route(problem, 0, (0,)).service_s[0] == 60 + 30 + 40  # 29.2 s of hands, rounded
    laden = replace(problem, trucks=(replace(problem.trucks[0], level_ml=(10**6,)),))
    assert time_route(laden, 0, (1,)).service_s[0] == 0


def test_a_yard_takes_the_hands_or_the_pump_whichever_is_slower() -> None:
    yards = [visit(1, 300.0, setup_s=600, handling_s=400), visit(1, 300.0, setup_s=600, handling_s=900)]
    problem = along([0, 30], yards, [truck(pump_ml_s=500.0), truck()])
    assert problem.service_s == ((1200, 1500), (1000, 1500))


def test_a_truck_waits_for_the_gate_but_starts_late_enough_to_lose_nothing() -> None:
    gate = visit(1, windows=((10 * HOUR, 12 * HOUR),), handling_s=600)
    timing = time_route(along([0, 60], [gate], [truck(earliest_s=6 * HOUR)]), 0, (0,))
    assert timing.begin[0] == 9 * HOUR - 100  # an hour of driving, 100 s of filling
    assert timing.arrive[1] == timing.begin[1] == 10 * HOUR
    assert timing.work_s == 100 + 3600 + 600 + 3600


def test_without_a_wait_the_start_is_as_early_as_the_shift() -> None:
    timing = time_route(along([0, 60], [visit(1)], [truck(earliest_s=6 * HOUR)]), 0, (0,))
    assert timing.begin[0] == 6 * HOUR


def test_a_late_start_never_costs_the_second_gate() -> None:
    first = visit(1, windows=((8 * HOUR, 9 * HOUR),))
    second = visit(2, windows=((14 * HOUR, 15 * HOUR),))
    timing = time_route(along([0, 30, 60], [first, second], [truck(earliest_s=5 * HOUR)]), 0, (0, 1))
    assert timing.begin[1] == 9 * HOUR  # as late as its gate allows, not as late as the wait would
    assert timing.arrive[2] == 9 * HOUR + 1800
    assert timing.begin[2] == 14 * HOUR


def test_the_next_of_several_gate_times_is_taken_when_the_first_is_missed() -> None:
    gates = ((6 * HOUR, 7 * HOUR), (13 * HOUR, 14 * HOUR), (20 * HOUR, 21 * HOUR))
    problem = along([0, 120], [visit(1, windows=gates, handling_s=900, leave_by=True)], [truck(earliest_s=0)])
    early = time_route(problem, 0, (0,))
    assert early.begin[1] == 6 * HOUR
    late = along([0, 120], problem.visits, [truck(earliest_s=5 * HOUR)])
    assert time_route(late, 0, (0,)).begin[1] == 13 * HOUR
    none = along([0, 120], problem.visits, [truck(earliest_s=19 * HOUR)])
    assert time_route(none, 0, (0,)).fault is Fault.WINDOW


def test_the_gate_binds_the_whole_visit_or_its_beginning_as_is_set() -> None:
    gate = ((8 * HOUR, 9 * HOUR),)
    shut_in = visit(1, windows=gate, handling_s=HOUR + 1, leave_by=True)
    let_out = visit(1, windows=gate, handling_s=HOUR + 1)
    assert time_route(along([0, 30], [shut_in]), 0, (0,)).fault is Fault.WINDOW
    timing = time_route(along([0, 30], [let_out], [truck(earliest_s=0)]), 0, (0,))
    assert timing.fault is None
    assert timing.leave[1] > 9 * HOUR


def test_late_feeding_binds_the_beginning_within_the_gate() -> None:
    late = visit(1, windows=((6 * HOUR, 17 * HOUR),), begin=((16 * HOUR, 30 * HOUR),), handling_s=1800)
    timing = time_route(along([0, 30], [late], [truck(earliest_s=6 * HOUR)]), 0, (0,))
    assert timing.begin[1] == 16 * HOUR
    too_long = visit(
        1,
        windows=((6 * HOUR, 17 * HOUR),),
        begin=((16 * HOUR, 30 * HOUR),),
        handling_s=HOUR + 1,
        leave_by=True,
    )
    assert time_route(along([0, 30], [too_long]), 0, (0,)).fault is Fault.WINDOW


def test_syrup_is_not_loaded_before_it_is_there() -> None:
    problem = along([0, 30], [visit(1)], depots=[depot(supplies=(Supply(1000.0, None, 9 * HOUR),))])
    assert time_route(problem, 0, (0,)).begin[0] == 9 * HOUR


def test_a_trip_leaves_no_earlier_than_its_goods_are_released() -> None:
    problem = along(
        [0, 30], [visit(1, release_s=8 * HOUR), visit(1, release_s=10 * HOUR)], [truck(earliest_s=0)]
    )
    timing = time_route(problem, 0, (0, HOME, 1))
    assert timing.leave[0] == 9 * HOUR - 100  # as late as the second trip allows, not before 8:00
    assert timing.leave[2] == 10 * HOUR


def test_a_laden_truck_leaves_before_its_depot_opens_but_cannot_load_there() -> None:
    shut = depot(windows=((7 * HOUR, 18 * HOUR),), leave_by=True)
    laden = truck(earliest_s=5 * HOUR, level_ml=(300_000,))
    problem = along([0, 30], [visit(1, 100.0), visit(1, 300.0)], [laden], [shut])
    assert time_route(problem, 0, (0,)).begin[0] == 6 * HOUR  # an hour's drive, to be back when it opens
    assert time_route(problem, 0, (0,)).leave[0] < 7 * HOUR
    assert time_route(problem, 0, (0, 1)).begin[0] == 7 * HOUR


def test_a_night_shift_runs_over_midnight() -> None:
    night = truck(earliest_s=21 * HOUR, latest_s=29 * HOUR)
    gate = visit(1, windows=((0, HOUR), (24 * HOUR, 25 * HOUR)), handling_s=1800, leave_by=True)
    timing = time_route(along([0, 90], [gate], [night]), 0, (0,))
    assert timing.begin[1] == 24 * HOUR
    assert timing.begin[-1] == 26 * HOUR


def test_no_shift_is_longer_than_ordinary_time_and_overtime() -> None:
    problem = along([0, 60], [visit(1)], [truck(ordinary_s=7000, overtime_s=300)])
    assert time_route(problem, 0, (0,)).fault is None
    tighter = along([0, 60], [visit(1)], [truck(ordinary_s=7000, overtime_s=299)])
    assert time_route(tighter, 0, (0,)).fault is Fault.SHIFT


def test_nobody_is_back_after_the_shift_ends_nor_drives_too_long() -> None:
    ends = truck(earliest_s=0, latest_s=7299)
    assert time_route(along([0, 60], [visit(1)], [ends]), 0, (0,)).fault is Fault.SHIFT
    assert time_route(along([0, 60], [visit(1)], [truck(driving_s=7199)]), 0, (0,)).fault is Fault.DRIVING


def _rested() -> TruckSpec:
    return truck(earliest_s=6 * HOUR, break_s=1800, break_after_s=5 * HOUR)


def test_a_break_is_placed_at_the_last_point_that_the_rule_allows() -> None:
    yards = [visit(i, 10.0, handling_s=HOUR) for i in (1, 2, 3)]
    timing = time_route(along([0, 60, 120, 180], yards, [_rested()]), 0, (0, 1, 2))
    # 6:00:30 filled, yards end at 8:00:30, 10:00:30, 12:00:30; five hours are up at 11:00.
    assert timing.fault is None
    assert timing.pauses == [0, 0, 1800, 0, 0]
    assert timing.work_s == 30 + 6 * HOUR + 3 * HOUR + 1800


def test_a_break_is_taken_in_a_wait_where_there_is_one() -> None:
    yards = [
        visit(1, 10.0, handling_s=HOUR, windows=((7 * HOUR, 8 * HOUR),)),
        visit(1, 10.0, handling_s=HOUR, windows=((10 * HOUR, 12 * HOUR),)),
        visit(1, 10.0, handling_s=HOUR),
    ]
    timing = time_route(along([0, 60], yards, [_rested()]), 0, (0, 1, 2))
    assert timing.pauses == [0, 1800, 0, 0, 0]
    assert timing.begin[2] == 10 * HOUR
    assert timing.work_s == 6 * HOUR + 30


def test_a_late_start_leaves_time_for_the_break_before_a_gate_that_closes() -> None:
    yards = [
        visit(1, 10.0, handling_s=3 * HOUR),
        visit(1, 10.0, handling_s=3 * HOUR, windows=((12 * HOUR, 15 * HOUR),), leave_by=True),
    ]
    timing = time_route(along([0, 60], yards, [_rested()]), 0, (0, 1))
    assert timing.fault is None
    assert timing.pauses == [0, 1800, 0, 0]
    assert timing.begin[2] == 12 * HOUR
    assert timing.begin[0] == 12 * HOUR - 1800 - 3 * HOUR - HOUR - 20


def test_a_visit_longer_than_anyone_works_without_a_break_cannot_be_made() -> None:
    problem = along([0, 60], [visit(1, handling_s=5 * HOUR - 3500)], [_rested()])
    assert time_route(problem, 0, (0,)).fault is Fault.BREAK
    shorter = along([0, 60], [visit(1, handling_s=4 * HOUR - 3600)], [_rested()])
    assert time_route(shorter, 0, (0,)).fault is None


def test_a_break_of_no_length_turns_the_rule_off() -> None:
    problem = along([0, 60], [visit(1, handling_s=9 * HOUR)], [truck(break_s=0, break_after_s=HOUR)])
    assert time_route(problem, 0, (0,)).fault is None


def test_by_the_driving_clock_any_stand_of_the_length_of_a_break_is_one() -> None:
    driver = truck(earliest_s=0, break_s=1800, break_after_s=2 * HOUR, break_on_driving=True)
    short = [visit(1, 10.0, handling_s=900), visit(2, 10.0, handling_s=900)]
    long = [visit(1, 10.0, handling_s=900), visit(2, 10.0, handling_s=1800)]
    timing = time_route(along([0, 60, 90], long, [driver]), 0, (0, 1))
    assert timing.pauses == [0, 0, 0, 0]
    timing = time_route(along([0, 60, 90], short, [driver]), 0, (0, 1))
    assert timing.pauses == [0, 0, 1800, 0]


def test_by_the_driving_clock_a_wait_that_is_the_pause_is_not_slept_away_at_home() -> None:
    driver = truck(earliest_s=0, break_s=1800, break_after_s=2 * HOUR, break_on_driving=True)
    # The break after the first yard makes the truck miss the first opening of the second gate.
    twice = ((0, 4500), (9000, 12_000))
    yards = [visit(1, 10.0), visit(2, 10.0, windows=twice), visit(3, 10.0)]
    problem = along([0, 50, 30, 45], yards, [replace(driver, break_after_s=HOUR)])
    timing = time_route(problem, 0, (0, 1, 2))
    assert timing.fault is None
    driven = 0
    for i, drive in enumerate(timing.drive_s):
        if i and timing.leave[i - 1] + timing.pauses[i - 1] - timing.arrive[i - 1] >= 1800:
            driven = 0
        driven += drive
        assert driven <= HOUR


def test_a_truck_found_in_mid_day_goes_on_from_there_and_its_wait_is_paid() -> None:
    state = truck(earliest_s=9 * HOUR, on_the_clock=True, level_ml=(200_000,), ordinary_s=4 * HOUR)
    gate = visit(1, windows=((11 * HOUR, 12 * HOUR),))
    timing = time_route(along([0, 60], [gate], [state]), 0, (0,))
    assert timing.arrive[0] == 9 * HOUR
    assert timing.work_s == 3 * HOUR


def test_a_truck_found_tired_takes_its_break_at_the_first_stop() -> None:
    state = truck(
        earliest_s=9 * HOUR, on_the_clock=True, level_ml=(200_000,), break_s=1800, break_after_s=5 * HOUR,
        tired_s=5 * HOUR,
    )  # fmt: skip
    timing = time_route(along([0, 60], [visit(1)], [state]), 0, (0,))
    assert timing.pauses == [1800, 0, 0]
    assert timing.arrive[0] == 9 * HOUR


def test_a_refill_on_the_way_is_timed_where_it_is_made() -> None:
    field = depot(2, setup_s=120, supplies=(Supply(500.0),))
    small = truck(capacity_ml=(400_000,), refill_depots=(0, 1))
    problem = along([0, 30, 40], [visit(1, 300.0), visit(1, 200.0)], [small], [depot(), field])
    timing = time_route(problem, 0, (0, FIELD, 1))
    assert timing.service_s == [300, 0, 120 + 400, 0, 0]
    assert sum(timing.drive_s) == (30 + 10 + 10 + 30) * 60


def test_a_refill_that_gives_nothing_is_no_stop() -> None:
    assert time_route(along([0, 30], [visit(1)]), 0, (0, HOME)).fault is Fault.IDLE_REFILL
