"""What a truck takes aboard, and what it weighs: tanks, pails, stock places, gates, washing."""

from __future__ import annotations

from dataclasses import replace

from routing.planning.evaluate.loads import Fault, plan_loads
from routing.planning.evaluate.schedule import time_route
from routing.planning.evaluate.state import Judge, State
from routing.planning.problem.problem import Problem, Supply, Visit
from tests.support.hand import DENSITY, FIELD, HOME, along, depot, pails, truck, visit

FULL_PAIL_G = 10_000 * DENSITY + 900


def test_a_truck_loads_what_its_round_needs_and_no_more() -> None:
    loads = plan_loads(along([0, 30, 40], [visit(1, 300.0), visit(2, 200.0)]), 0, (0, 1))
    assert loads.fault is None
    assert loads.loading[0].bulk_ml == (500_000,)
    assert loads.gross_g == [4_000_000 + 625_000, 4_000_000 + 250_000, 4_000_000]


def test_each_refill_brings_what_is_poured_until_the_next() -> None:
    field = depot(2)
    problem = along([0, 30, 40], [visit(1, 900.0), visit(1, 800.0)], depots=[depot(), field])
    loads = plan_loads(problem, 0, (0, FIELD, 1))
    assert loads.loading[0].bulk_ml == (900_000,)
    assert loads.loading[2].bulk_ml == (800_000,)
    assert plan_loads(problem, 0, (0, 1)).fault is Fault.TANK


def test_what_is_in_the_tanks_already_is_not_loaded_again() -> None:
    laden = truck(level_ml=(180_000,))
    loads = plan_loads(along([0, 30], [visit(1, 300.0)], [laden]), 0, (0,))
    assert loads.loading[0].bulk_ml == (120_000,)
    assert loads.gross_g[-1] == 4_000_000
    spare = plan_loads(along([0, 30], [visit(1, 100.0)], [laden]), 0, (0,))
    assert spare.loading[0].nothing
    assert spare.gross_g == [4_000_000 + 225_000, 4_000_000 + 100_000]


def test_a_start_without_stock_sends_the_truck_to_another_depot_first() -> None:
    dry = depot(supplies=(None,))
    problem = along([0, 30, 40], [visit(1)], [truck(refill_depots=(1,))], [dry, depot(2)])
    assert plan_loads(problem, 0, (0,)).fault is Fault.SUPPLY
    loads = plan_loads(problem, 0, (FIELD, 0))
    assert loads.fault is None
    assert loads.loading[0].nothing
    assert loads.loading[1].bulk_ml == (100_000,)


def test_the_margin_is_taken_aboard_but_never_breaks_tank_or_weight() -> None:
    one = [visit(1, 500.0)]
    spare = plan_loads(along([0, 30], one, margin=0.1), 0, (0,))
    assert spare.loading[0].bulk_ml == (550_000,)
    brim = plan_loads(along([0, 30], one, [truck(capacity_ml=(520_000,))], margin=0.1), 0, (0,))
    assert brim.loading[0].bulk_ml == (520_000,)
    heavy = truck(gross_g=4_000_000 + 650_000)
    scale = plan_loads(along([0, 30], one, [heavy], margin=0.1), 0, (0,))
    assert scale.fault is None
    assert scale.loading[0].bulk_ml == (520_000,)
    assert max(scale.gross_g) <= heavy.gross_g


def test_the_margin_is_left_at_home_where_a_bridge_would_not_bear_it() -> None:
    bridge = visit(1, 500.0, max_gross_g=4_000_000 + 625_000)
    loads = plan_loads(along([0, 30], [bridge], margin=0.1), 0, (0,))
    assert loads.fault is None
    assert loads.loading[0].bulk_ml == (500_000,)


def test_nobody_drives_over_the_legal_gross() -> None:
    light = truck(gross_g=4_000_000 + 624_998)
    assert plan_loads(along([0, 30], [visit(1, 500.0)], [light]), 0, (0,)).fault is Fault.WEIGHT


def test_the_weight_at_the_gate_is_that_on_arrival() -> None:
    bridge = visit(2, 100.0, max_gross_g=4_000_000 + 125_000)
    problem = along([0, 30, 40], [visit(1, 300.0), bridge])
    assert plan_loads(problem, 0, (0, 1)).fault is None
    assert plan_loads(problem, 0, (1, 0)).fault is Fault.GATE_WEIGHT


def test_two_syrups_travel_in_tanks_of_their_own() -> None:
    both = depot(supplies=(Supply(1000.0), Supply(1000.0)))
    split = truck(capacity_ml=(300_000, 200_000), level_ml=(0, 50_000))
    yards = [
        Visit(1, (100_000, 0), 1000.0),
        Visit(1, (150_000, 180_000), 1000.0),
    ]
    problem = along([0, 30], yards, [split], [both], density_g_ml=(1.3, 1.4))
    loads = plan_loads(problem, 0, (0, 1))
    assert loads.loading[0].bulk_ml == (250_000, 130_000)
    assert round(loads.gross_g[0]) == 4_000_000 + 325_000 + 252_000
    over = replace(problem, visits=(yards[0], Visit(1, (150_000, 200_001), 1000.0)))
    assert plan_loads(over, 0, (0, 1)).fault is Fault.TANK


def test_full_pails_come_from_a_base_only() -> None:
    field = depot(2, pails=False)
    problem = along([0, 30, 40], [pails(1, 4)], [truck(pail_slots=10)], [depot(), field], pail_g=900)
    assert plan_loads(problem, 0, (0,)).loading[0].pails == (4,)
    elsewhere = replace(problem, trucks=(truck(pail_slots=10, start=1),))
    assert plan_loads(elsewhere, 0, (0,)).fault is Fault.SUPPLY
    fetched = plan_loads(elsewhere, 0, (HOME, 0))
    assert fetched.loading[1].pails == (4,)
    assert fetched.gross_g == [4_000_000, 4_000_000 + 4 * FULL_PAIL_G, 4_000_000 + 4 * 900]


def test_empties_hold_their_slots_until_a_base_takes_them_off() -> None:
    rack = truck(pail_slots=6)
    problem = along([0, 30], [pails(1, 4), pails(1, 4)], [rack], pail_g=900)
    assert plan_loads(problem, 0, (0, 1)).fault is Fault.SLOTS
    loads = plan_loads(problem, 0, (0, HOME, 1))
    assert loads.fault is None
    assert loads.pails_full == [4, 0, 4, 0]
    assert loads.pails_empty == [0, 4, 0, 4]


def test_empties_stay_aboard_at_a_depot_that_is_no_base() -> None:
    field = depot(2, pails=False)
    problem = along(
        [0, 30, 40], [pails(1, 4), visit(1, 10.0)], [truck(pail_slots=6)], [depot(), field], pail_g=900
    )
    loads = plan_loads(problem, 0, (0, FIELD, 1))
    assert loads.pails_empty == [0, 4, 4, 4]


def test_no_pail_comes_back_from_a_quarantined_yard() -> None:
    loads = plan_loads(along([0, 30], [pails(1, 4, 0)], [truck(pail_slots=4)], pail_g=900), 0, (0,))
    assert loads.pails_empty == [0, 0]
    assert loads.gross_g[1] == 4_000_000


def test_health_never_falls_along_a_round_unless_the_truck_is_washed() -> None:
    yards = [visit(1, rank=2), visit(1)]
    dirty = along([0, 30], yards)
    assert plan_loads(dirty, 0, (1, 0)).fault is None
    assert plan_loads(dirty, 0, (0, 1)).fault is Fault.HYGIENE
    assert plan_loads(dirty, 0, (0, HOME, 1)).fault is Fault.HYGIENE
    washed = along([0, 30], yards, depots=[depot(wash=True)], wash_s=1800)
    loads = plan_loads(washed, 0, (0, HOME, 1))
    assert loads.fault is None
    assert loads.washes == {2}
    timing = time_route(washed, 0, (0, HOME, 1))
    assert timing.service_s[2] == 1800 + 100


def test_a_wash_is_a_reason_to_call_at_a_depot_where_nothing_is_loaded() -> None:
    wash = depot(2, supplies=(None,), wash=True)
    problem = along([0, 30, 40], [visit(1, rank=2), visit(1)], depots=[depot(), wash], wash_s=900)
    timing = time_route(problem, 0, (0, FIELD, 1))
    assert timing.fault is None
    assert timing.service_s[2] == 900
    assert plan_loads(problem, 0, (1, FIELD, 0)).fault is Fault.IDLE_REFILL


def test_a_truck_found_in_mid_day_has_its_pails_its_rank_and_its_load() -> None:
    state = truck(
        pail_slots=6, pails_aboard=(3,), pail_ml_aboard=(30_000,), empties_aboard=2, rank=1, start=1
    )
    problem = along(
        [0, 30, 40], [pails(1, 3, rank=1), pails(1, 4, rank=1), visit(1)], [state],
        [depot(), depot(2, supplies=(None,), pails=False)], pail_g=900,
    )  # fmt: skip
    loads = plan_loads(problem, 0, (0,))
    assert loads.fault is None
    assert loads.pails_empty == [2, 5]
    assert loads.gross_g[0] == 4_000_000 + 3 * FULL_PAIL_G + 2 * 900
    assert plan_loads(problem, 0, (1,)).fault is Fault.SUPPLY
    assert plan_loads(problem, 0, (HOME, 2)).fault is Fault.HYGIENE


def test_only_trucks_that_may_drive_in_do() -> None:
    problem = along([0, 30], [visit(1, trucks=frozenset({1}))], [truck(), truck()])
    assert plan_loads(problem, 0, (0,)).fault is Fault.ACCESS
    assert plan_loads(problem, 1, (0,)).fault is None
    assert problem.eligible(0) == (1,)


def test_a_yard_bigger_than_any_tank_or_rack_is_for_no_truck() -> None:
    problem = along(
        [0, 30], [visit(1, 1000.1), pails(1, 5), visit(1, 500.0, max_gross_g=4_600_000)],
        [truck(pail_slots=4)],
    )  # fmt: skip
    assert problem.eligible_trucks == ((), (), ())


def test_all_trucks_together_take_no_more_than_the_stock() -> None:
    short = depot(supplies=(Supply(1000.0, stock_ml=250_000),))
    yards = [visit(1, 100.0), visit(1, 100.0), visit(1, 100.0)]
    state = State(Judge(along([0, 30], yards, [truck(), truck(gross_g=7_000_000)], [short])))
    state.put(0, (0, 1))
    assert state.route_cost(1, (2,)) == float("inf")
    assert state.route_cost(0, (0, 1, 2)) == float("inf")
    assert state.route_cost(0, (0, 2)) < float("inf")
    state.put(0, (0,))
    assert state.route_cost(1, (2,)) < float("inf")


def test_pails_and_tanks_draw_on_one_stock() -> None:
    short = depot(supplies=(Supply(1000.0, stock_ml=120_000),))
    both = Visit(1, (90_000,), 1000.0, pail_ml=(40_000,), pails=(4,), empties=4)
    state = State(Judge(along([0, 30], [both], [truck(pail_slots=4)], [short])))
    assert state.route_cost(0, (0,)) == float("inf")


def two_tanks(*levels_ml: int, colonies: int, dose_ml: float) -> Problem:
    """A truck with two tanks of 100 L for one syrup, and a yard of so many colonies."""
    yard = visit(1, colonies * dose_ml / 1000, pours=((0, colonies, dose_ml),))
    tanks = tuple((0, 100_000, ml) for ml in levels_ml)
    spec = truck(capacity_ml=(200_000,), level_ml=(sum(levels_ml),), tanks=tanks)
    return along([0, 30], [yard], [spec])


def test_every_colony_is_served_from_one_tank() -> None:
    """160 L for 20 colonies of 8 L each: two tanks of 100 L give 12 and 8, and 4 L may stay in one."""
    loads = plan_loads(two_tanks(0, 0, colonies=20, dose_ml=8000.0), 0, (0,))
    assert loads.fault is None
    assert loads.loading[0].bulk_ml == (160_000 + 8_000,)


def test_two_tanks_that_hold_enough_together_may_hold_too_few_whole_doses() -> None:
    """100 L are 12 doses of 8 L: two full tanks serve 24 colonies, and not 25, though 200 L would do."""
    assert plan_loads(two_tanks(0, 0, colonies=24, dose_ml=8000.0), 0, (0,)).fault is None
    assert plan_loads(two_tanks(0, 0, colonies=25, dose_ml=8000.0), 0, (0,)).fault is Fault.SUPPLY
