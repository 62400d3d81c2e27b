"""From an operation to whole numbers: trucks, tanks, depots and visits, rounded against us."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

import numpy as np
import pytest

from routing.domain.clock import TimeWindow
from routing.domain.fleet import PailLoad, Tank, Underway
from routing.domain.operation import Operation
from routing.domain.places import Health, Stock
from routing.domain.ration import YardNeed
from routing.domain.settings import CostSettings, ShiftSettings, WorkSettings
from routing.domain.travel import Matrix
from routing.need.urgency import unfed_value_per_colony
from routing.planning.problem.build import Day, build_days
from routing.planning.problem.frame import whole_ml
from routing.planning.problem.problem import FOREVER, Problem
from routing.travel.straight.straight import straight_travel
from tests.support.trade import DAY, HOUR, depots, dose, need, operation, truck, yard


def day_of(op: Operation, *needs: YardNeed, on: date = DAY, **more: Any) -> Day:
    return build_days(op, straight_travel(op), on, needs, **more)[0]


def problem_of(op: Operation, *needs: YardNeed) -> Problem:
    return day_of(op, *needs).problem


def test_demand_and_mass_are_rounded_up_and_room_down() -> None:
    op = operation([yard("A")], [truck(tare_kg=4000.0001, gvwr_kg=7999.9999, tanks=(Tank("A", 999.9999),))])
    problem = problem_of(op, need("A", dose(3, each_l=2.0001)))
    assert problem.visits[0].bulk_ml == (6000,)
    assert problem.trucks[0].tare_g == 4_000_001
    assert problem.trucks[0].gross_g == 7_999_999
    assert problem.trucks[0].capacity_ml == (999_999,)


def test_a_visit_has_the_yards_time_windows_value_and_limits() -> None:
    gate = (TimeWindow(7 * HOUR, 12 * HOUR), TimeWindow(15 * HOUR, 18 * HOUR))
    op = operation([yard("A", windows=gate, setup_s=500, max_gross_kg=6000.5, health=Health.WATCH)])
    problem = problem_of(op, need("A", starving=True, windows=(TimeWindow(16 * HOUR, 24 * HOUR),)))
    (v,) = problem.visits
    assert v.windows == ((7 * HOUR, 12 * HOUR), (15 * HOUR, 18 * HOUR))
    assert v.begin == ((16 * HOUR, 24 * HOUR),)
    assert (v.setup_s, v.handling_s) == (500, 40 * 45)
    assert v.value == 40 * unfed_value_per_colony(op, "A", 30.0)
    assert (v.max_gross_g, v.rank, v.required, v.leave_by) == (6_000_500, 1, True, True)
    assert problem.openings[0][0] == ((16 * HOUR, 18 * HOUR - 500 - 1800),)


def test_watch_may_count_as_clean_and_quarantine_never() -> None:
    yards = [yard("A", health=Health.WATCH), yard("B", health=Health.QUARANTINE)]
    op = operation(yards, work=WorkSettings(watch_after_clean=False, quarantine_permit=True))
    assert [v.rank for v in problem_of(op, need("A"), need("B")).visits] == [0, 2]


@pytest.mark.parametrize(("crew", "share"), [(1, 1.0), (2, 0.57), (3, 0.43), (4, 0.43)])
def test_a_larger_crew_takes_less_time_at_the_hives_but_not_for_the_set_up(crew: int, share: float) -> None:
    """Factors of an estimate of minutes as crew ** -0.8: 1, 0.57, 0.43 (no published value is known)."""
    trucks = [truck(crew=crew, pump_l_per_s=None)]
    problem = problem_of(operation([yard("A", setup_s=600)], trucks, work=WorkSettings()), need("A"))
    assert problem.service_s[0][0] - 600 == pytest.approx(40 * 45 * share, rel=0.02)


def test_a_slow_pump_leaves_a_second_pair_of_hands_idle() -> None:
    trucks = [truck(crew=2, pump_l_per_s=0.1)]
    problem = problem_of(operation([yard("A", setup_s=600)], trucks, work=WorkSettings()), need("A"))
    assert problem.service_s[0][0] == 600 + 3000


def test_gate_hours_of_a_night_shift_are_those_of_the_next_morning_too() -> None:
    night = ShiftSettings(window=TimeWindow(21 * HOUR, 29 * HOUR))
    op = operation([yard("A", windows=(TimeWindow(0, 4 * HOUR),))], shift=night)
    assert problem_of(op, need("A")).visits[0].windows == ((24 * HOUR, 28 * HOUR),)


def test_on_the_day_clocks_go_back_a_shift_is_an_hour_later_in_elapsed_time() -> None:
    op = operation([yard("A", windows=(TimeWindow(8 * HOUR, 12 * HOUR),))])
    problem = day_of(op, need("A"), on=date(2026, 11, 1)).problem
    assert problem.trucks[0].earliest_s == 7 * HOUR
    assert problem.visits[0].windows == ((9 * HOUR, 13 * HOUR),)


def test_pails_are_counted_with_their_empties_but_none_comes_back_from_quarantine() -> None:
    op = operation([yard("A"), yard("B", health=Health.QUARANTINE)])
    pail = dose(6, feeder_id="pail2", swapped=True)
    clean, ill = problem_of(op, need("A", pail), need("B", pail)).visits
    assert (clean.pails, clean.pail_ml, clean.empties, clean.bulk_ml) == ((6,), (45_000,), 6, (0,))
    assert (ill.pail_count, ill.empties) == (6, 0)


def test_a_truck_pays_its_crew_its_fuel_and_the_dearer_hour() -> None:
    cost = CostSettings(labor_per_h=20.0, overtime_per_h=30.0, fuel_per_l=1.5, vehicle_per_km=0.6)
    op = operation([yard("A")], [truck(crew=3, fixed_cost=50.0)], cost=cost)
    spec = problem_of(op, need("A")).trucks[0]
    assert spec.per_s == pytest.approx(60 / 3600)
    assert spec.overtime_per_s == pytest.approx(30 / 3600)
    assert (spec.fixed, spec.fuel_price, spec.per_m) == (50.0, 1.5, pytest.approx(0.0006))
    assert spec.fuel_empty + spec.fuel_per_g * 4_000_000 == pytest.approx(0.3 / 1000)


def test_only_depots_that_give_something_are_called_at() -> None:
    both = depots(wash_down=False)
    assert problem_of(operation([yard("A")], depots=both), need("A")).trucks[0].refill_depots == (0, 1)
    hfcs = operation([yard("A")], depots=both)
    assert problem_of(hfcs, need("A", dose(syrup_id="HF55"))).trucks[0].refill_depots == (0,)
    dry = both | {"FIELD": replace(both["FIELD"], stock=(Stock("FIELD", "S67", 0.0, 1.0),))}
    assert problem_of(operation([yard("A")], depots=dry), need("A")).trucks[0].refill_depots == (0,)


def test_stock_is_rounded_down_and_there_from_its_hour() -> None:
    base = depots(stock=(Stock("BASE", "S67", 500.0009, 2.0, 9 * HOUR),))
    supply = problem_of(operation([yard("A")], depots=base), need("A")).depots[0].supplies[0]
    assert supply is not None
    assert (supply.stock_ml, supply.rate_ml_s, supply.from_s) == (500_000, 2000.0, 9 * HOUR)


def test_a_tank_with_syrup_in_it_is_bound_to_it() -> None:
    tanks = (Tank("A", 500.0, level_l=80.0), Tank("B", 500.0), Tank("C", 500.0, "HF55"))
    day = day_of(operation([yard("A")], [truck(tanks=tanks)]), need("A"), need("A", dose(syrup_id="HF55")))
    names = dict(zip("ABC", day.tank_syrups[0], strict=True))
    assert (names["A"], names["C"]) == ("S67", "HF55")
    spec = day.problem.trucks[0]
    assert spec.level_ml[day.syrups.index("S67")] == 80_000
    assert sum(spec.capacity_ml) == 1_500_000


def test_a_syrup_aboard_that_nobody_needs_is_carried_as_weight() -> None:
    laden = truck(tanks=(Tank("A", 500.0, "HF55", 100.0), Tank("B", 500.0)))
    day = day_of(operation([yard("A")], [laden]), need("A"))
    assert day.syrups == ("S67", "HF55")
    assert day.problem.trucks[0].level_ml == (0, 100_000)


def test_a_yard_with_more_than_a_load_is_cut_into_loads() -> None:
    op = operation([yard("A")], [truck(tanks=(Tank("A", 120.0),))])
    day = day_of(op, need("A", dose(40)))
    assert [sum(n for _, n in piece) for _, piece in day.pieces] == [16, 16, 8]
    assert sum(v.bulk_ml[0] for v in day.problem.visits) == 300_000


def test_a_visit_longer_than_a_crew_works_without_a_break_is_cut() -> None:
    op = operation([yard("A", km=0.0)], shift=ShiftSettings(break_after_s=2 * HOUR))
    day = day_of(op, need("A", dose(300, each_l=0.5)))
    assert max(day.problem.service_s[0]) <= 2 * HOUR
    assert sum(n for _, piece in day.pieces for _, n in piece) == 300


def test_a_visit_has_time_for_the_drive_that_comes_between_it_and_the_last_break() -> None:
    op = operation(
        [yard("A", km=30.0)], [truck(tanks=(Tank("A", 4000.0),))], shift=ShiftSettings(break_after_s=2 * HOUR)
    )
    day = day_of(op, need("A", dose(300, each_l=0.5)))
    v = day.problem.visits[0].place
    drive = int(min(day.problem.drive_s[0][d.place, v] for d in day.problem.depots))
    assert max(day.problem.service_s[0]) + drive <= 2 * HOUR


def test_a_visit_is_no_longer_than_its_gate_is_open() -> None:
    gate = (TimeWindow(9 * HOUR, 10 * HOUR),)
    day = day_of(operation([yard("A", windows=gate)]), need("A", dose(120, each_l=0.5)))
    assert [n for _, piece in day.pieces for _, n in piece] == [66, 54]
    assert max(day.problem.service_s[0]) <= HOUR


def test_a_dose_that_no_truck_can_carry_is_kept_apart_from_those_that_can() -> None:
    rackless = truck(pail_slots=0)
    day = day_of(
        operation([yard("A")], [rackless]), need("A", dose(40), dose(5, feeder_id="pail2", swapped=True))
    )
    assert [[d.feeder_id for d, _ in piece] for _, piece in day.pieces] == [["frame2"], ["pail2"]]
    assert day.problem.eligible_trucks == ((0,), ())


def test_named_trucks_alone_are_planned_and_only_when_available() -> None:
    trucks = [truck("T1"), truck("T2", available=(date(2026, 9, 29),)), truck("T3")]
    op = operation([yard("A")], trucks)
    assert [t.truck_id for t in day_of(op, need("A")).trucks] == ["T1", "T3"]
    assert [t.truck_id for t in day_of(op, need("A"), truck_ids=("T3",)).trucks] == ["T3"]
    assert day_of(op, need("A"), truck_ids=("T2",)).trucks == ()


def test_access_is_by_name_length_and_empty_weight() -> None:
    trucks = [truck("T1"), truck("T2", length_m=6.0), truck("T3", length_m=None, tare_kg=3000.0)]
    yards = [
        yard("A", trucks=("T2",)),
        yard("B", max_length_m=7.0),
        yard("C", max_gross_kg=3500.0),
        yard("D"),
    ]
    problem = problem_of(operation(yards, trucks), *(need(y.yard_id) for y in yards))
    assert [set(v.trucks or ()) for v in problem.visits] == [{1}, {1, 2}, {2}, {0, 1, 2}]


def test_a_truck_with_a_table_of_its_own_drives_by_it() -> None:
    op = operation([yard("A")], [truck("T1"), truck("T2")])
    plain = straight_travel(op)
    slow = Matrix(plain.matrix.distance_m, plain.matrix.drive_s * 2)
    problem = build_days(op, replace(plain, by_truck={"T2": slow}), DAY, [need("A")])[0].problem
    assert [t.matrix for t in problem.trucks] == [0, 1]
    assert np.array_equal(problem.drive_s[1], 2 * problem.drive_s[0])


def test_no_need_at_all_is_a_day_without_visits() -> None:
    nothing = replace(need("A"), doses=())
    day = day_of(operation([yard("A")]), nothing)
    assert day.problem.visits == ()
    assert day.problem.density_g_ml == ()


def test_late_feeding_is_open_ended() -> None:
    assert problem_of(operation([yard("A")]), need("A")).visits[0].begin == FOREVER


def test_a_truck_in_mid_day_has_the_hours_that_are_left() -> None:
    state = Underway(
        from_s=13 * HOUR, worked_s=7 * HOUR, driven_s=2 * HOUR, since_break_s=3 * HOUR,
        driven_since_break_s=HOUR, pails=(PailLoad("S67", 4, 30.0),), pails_empty=3, rank=1,
    )  # fmt: skip
    spec = problem_of(operation([yard("A")], [truck(fixed_cost=50.0, underway=state)]), need("A")).trucks[0]
    assert (spec.earliest_s, spec.ordinary_s, spec.overtime_s) == (13 * HOUR, 3 * HOUR, 2 * HOUR)
    assert (spec.driving_s, spec.tired_s, spec.rank) == (9 * HOUR, 3 * HOUR, 1)
    assert (spec.pails_aboard, spec.pail_ml_aboard, spec.empties_aboard) == ((4,), (30_000,), 3)
    assert (spec.fixed, spec.on_the_clock) == (0.0, True)


@pytest.mark.parametrize(("litres", "ml"), [(598.19, 598_190), (735.734, 735_734), (0.0, 0), (1.0009, 1000)])
def test_a_level_to_the_millilitre_is_that_many_whole_millilitres(litres: float, ml: int) -> None:
    assert whole_ml(litres) == ml
