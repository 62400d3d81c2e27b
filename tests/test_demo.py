"""The demo operations are sound and hold what they promise; each special yard gets its treatment."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path

import pytest

from routing.audit import audit
from routing.domain.operation import Operation
from routing.domain.places import Health
from routing.domain.plan import Plan, Route, Stop
from routing.domain.ration import ReasonCode, YardNeed
from routing.domain.supplies import FeederPosition, Risk
from routing.domain.units import KG_PER_LB, L_PER_US_GAL
from routing.files.operation.folder import read_operation
from routing.need.ration import need_of_day
from routing.need.syrup import resolve
from routing.planning.plan.day import DayOptions, plan_day
from routing.planning.run.solve import SolveOptions
from routing.travel.choose import travel_for
from routing.travel.straight.geodesic import geodesic_table_m

DEMOS = Path(__file__).parents[1] / "data_demo"
DAY, NIGHT = date(2026, 9, 28), date(2026, 4, 14)
STARVING = {"Y17", "Y24", "Y32"}
NOT_FED = {
    "Y28": ReasonCode.SUPERS_ON,
    "Y30": ReasonCode.FEEDER_REFUSED,
    "Y34": ReasonCode.TOO_COLD,
    "Y35": ReasonCode.STORES_ENOUGH,
}


@dataclass(frozen=True)
class Demo:
    operation: Operation
    needs: dict[str, YardNeed]
    plan: Plan

    def stops(self, yard_id: str) -> list[tuple[Route, Stop]]:
        return [
            (r, s) for r in self.plan.routes for s in r.stops if s.place_id == yard_id and s.kind == "yard"
        ]


def _demo(name: str, day: date, iterations: int) -> Demo:
    operation, warnings = read_operation(DEMOS / name, day=day)
    assert warnings == ()
    operation = resolve(operation)
    needs = need_of_day(operation, day)
    travel = travel_for(operation, DEMOS / name)
    search = SolveOptions(seconds=None, iterations=iterations, seed=1)
    plan = plan_day(operation, travel, needs, day, DayOptions(search=search))
    assert audit(operation, travel, plan).findings == ()
    return Demo(operation, {need.yard_id: need for need in needs}, plan)


@pytest.fixture(scope="module")
def county() -> Demo:
    return _demo("sorrel_county", DAY, 400)


@pytest.fixture(scope="module")
def night() -> Demo:
    return _demo("saltbush_night", NIGHT, 100)


def _arrival_gross_kg(route: Route, stop: Stop) -> float:
    return route.stops[stop.seq - 1].after.gross_kg


def test_the_operation_has_the_size_it_promises(county: Demo) -> None:
    op = county.operation
    assert 34 <= len(op.yards) <= 40
    assert (len(op.trucks), len(op.depots), len(op.syrups)) == (2, 3, 2)
    assert sum(group.colonies for group in op.groups) == 1002


def test_every_yard_lies_within_80_km_of_the_honey_house(county: Demo) -> None:
    places = [county.operation.depots["home"], *county.operation.yards.values()]
    table = geodesic_table_m([p.position.lat for p in places], [p.position.lon for p in places])
    assert max(table[0]) <= 80_000


def test_no_two_yards_stand_on_one_spot(county: Demo) -> None:
    places = list(county.operation.yards.values())
    table = geodesic_table_m([p.position.lat for p in places], [p.position.lon for p in places])
    assert min(table[i][j] for i in range(len(places)) for j in range(i)) > 2_000


def test_every_kind_of_feeder_is_in_use(county: Demo) -> None:
    used = {county.operation.feeders[group.feeder_id] for group in county.operation.groups}
    assert {f.position for f in used} == set(FeederPosition)
    assert {f.feeder_id for f in used} == set(county.operation.feeders)
    gallons = {
        (f.position.value, round(f.capacity_l / L_PER_US_GAL, 2), f.swapped, f.meets_bees) for f in used
    }
    assert ("frame", 1.0, False, True) in gallons
    assert ("frame", 2.0, False, True) in gallons
    assert ("lid", 1.0, False, False) in gallons
    assert ("lid", 2.0, True, False) in gallons
    assert sum(f.position is FeederPosition.TOP for f in used) == 3


def test_both_syrups_and_all_ways_of_judging_stores_are_used(county: Demo) -> None:
    groups = county.operation.groups
    assert {g.syrup_id for g in groups} == {"2to1", "hfcs55"}
    assert any(g.stores.gross_kg for g in groups)
    assert {g.stores.frame.value for g in groups if g.stores.frame} == {"deep", "medium"}


def test_the_newest_inspection_counts(county: Demo) -> None:
    assert sum(g.colonies for g in county.operation.groups_of("Y02")) == 28
    assert sum(g.colonies for g in county.operation.groups_of("Y32")) == 20


def test_full_tanks_and_rack_would_overload_the_heavy_truck(county: Demo) -> None:
    op = county.operation
    truck, light = op.trucks["heavy"], op.trucks["light"]
    pail_kg = op.work.pail_kg + 2 * L_PER_US_GAL * op.syrups["2to1"].density_kg_per_l
    full_kg = truck.pail_slots * pail_kg + sum(
        tank.capacity_l * op.syrups[tank.syrup_id].density_kg_per_l for tank in truck.tanks
    )
    assert full_kg > truck.payload_kg
    assert county.needs["Y10"].volume_l < truck.tanks[0].capacity_l
    assert light.tanks[0].capacity_l < county.needs["Y10"].volume_l


def test_three_yards_starve_and_are_fed(county: Demo) -> None:
    assert {n.yard_id for n in county.needs.values() if n.starving} == STARVING
    for yard_id in STARVING:
        poured = sum(p.volume_l for _, s in county.stops(yard_id) for p in s.pour)
        assert poured == pytest.approx(county.needs[yard_id].volume_l, abs=0.01)


def test_yards_that_need_nothing_or_may_get_nothing_say_why(county: Demo) -> None:
    assert {n.yard_id: n.reason_code for n in county.needs.values() if not n.doses} == NOT_FED
    for yard_id, code in NOT_FED.items():
        left = next(u for u in county.plan.unserved if u.yard_id == yard_id)
        assert (left.reason_code, left.volume_l) == (code.value, 0)
        assert left.reason
        assert left.remedy


def test_rations_are_what_the_feeders_hold(county: Demo) -> None:
    gallons = {y: county.needs[y].volume_l / L_PER_US_GAL for y in ("Y03", "Y06", "Y13", "Y32", "Y01")}
    assert gallons["Y03"] == pytest.approx(36 * 2.0, rel=0.01)
    assert gallons["Y06"] == pytest.approx(26 * 3.0 * 0.7, rel=0.01)  # a slope costs 30 %
    assert gallons["Y13"] == pytest.approx(26 * 1.0, rel=0.01)
    assert gallons["Y32"] == pytest.approx(20 * 0.25, rel=0.01)
    assert gallons["Y01"] == pytest.approx(30 * 2.0, rel=0.01)  # what was left in it is eaten by now


def test_the_day_needs_more_than_the_tanks_hold(county: Demo) -> None:
    need_l = sum(n.volume_l for n in county.needs.values())
    tanks_l = sum(tank.capacity_l for truck in county.operation.trucks.values() for tank in truck.tanks)
    assert 1500 <= need_l / L_PER_US_GAL <= 2600
    assert need_l > tanks_l
    refills = [s for r in county.plan.routes for s in r.stops if s.kind == "refill"]
    assert refills


def test_the_day_is_nearly_full_for_both_trucks(county: Demo) -> None:
    assert {route.truck_id for route in county.plan.routes} == {"heavy", "light"}
    assert all(9.5 * 3600 < route.totals.work_s <= 11.5 * 3600 for route in county.plan.routes)


def test_what_is_left_for_tomorrow_is_little_and_not_urgent(county: Demo) -> None:
    left = [u for u in county.plan.unserved if u.volume_l > 0]
    assert sum(u.colonies for u in left) <= 60
    assert all(u.days_of_stores > 30 and u.remedy for u in left)


def test_the_posted_bridge_sees_only_the_light_truck_half_empty(county: Demo) -> None:
    limit_kg = county.operation.yards["Y20"].max_gross_kg
    assert county.operation.trucks["heavy"].tare_kg > limit_kg
    for route, stop in county.stops("Y20"):
        assert route.truck_id == "light"
        assert _arrival_gross_kg(route, stop) <= limit_kg


def test_the_soft_track_sees_no_truck_above_17000_lb(county: Demo) -> None:
    visits = county.stops("Y29")
    assert visits
    assert all(_arrival_gross_kg(route, stop) <= 17_000 * KG_PER_LB for route, stop in visits)


@pytest.mark.parametrize("yard_id", ["Y12", "Y22"])
def test_gates_are_passed_in_their_hours(county: Demo, yard_id: str) -> None:
    windows = county.operation.yards[yard_id].windows
    assert windows
    for _, stop in county.stops(yard_id):
        begin, leave = (t.hour * 3600 + t.minute * 60 + t.second for t in (stop.begin, stop.leave))
        assert any(w.start_s <= begin and leave <= w.end_s for w in windows)


def test_several_windows_a_day_are_there(county: Demo) -> None:
    assert len(county.operation.yards["Y22"].windows) == 3


def test_dripping_trays_wait_until_four_while_robbing_is_high(county: Demo) -> None:
    assert county.operation.feeding.robbing == "high"
    assert county.operation.feeders["tray"].spills is Risk.HIGH
    for yard_id in ("Y23", "Y33"):
        assert county.needs[yard_id].windows is not None
        assert all(stop.begin.hour >= 16 for _, stop in county.stops(yard_id))


def test_health_rank_never_falls_without_a_wash(county: Demo) -> None:
    yards = county.operation.yards
    assert [y.yard_id for y in yards.values() if y.health is Health.QUARANTINE] == ["Y07"]
    assert sum(y.health is Health.WATCH for y in yards.values()) == 2
    assert county.stops("Y07")
    for route in county.plan.routes:
        rank = 0
        for stop in route.stops:
            if stop.kind == "wash":
                rank = 0
            if stop.kind == "yard":
                assert yards[stop.place_id].health.rank >= rank
                rank = yards[stop.place_id].health.rank


def test_as_many_empty_pails_come_back_as_full_ones_were_given(county: Demo) -> None:
    visits = [found for y in ("Y05", "Y12", "Y25") for found in county.stops(y)]
    assert visits
    for route, stop in visits:
        before, pails = route.stops[stop.seq - 1].after, sum(p.pails for p in stop.pour)
        assert pails > 0
        assert stop.after.pails_full == before.pails_full - pails
        assert stop.after.pails_empty == before.pails_empty + pails


def test_the_night_round_crosses_midnight_and_feeds_everyone_in_need(night: Demo) -> None:
    assert not [u for u in night.plan.unserved if u.volume_l > 0]
    (route,) = night.plan.routes
    assert route.start.date() == NIGHT
    assert route.end.date() > NIGHT
    assert len(night.operation.yards) == 8
    assert {y for y, n in night.needs.items() if n.starving} == {"N6"}
    assert {y for y, n in night.needs.items() if not n.doses} == {"N8"}


def test_the_night_round_fills_again_once(night: Demo) -> None:
    (route,) = night.plan.routes
    assert sum(stop.kind == "refill" for stop in route.stops) == 1
    assert sum(n.volume_l for n in night.needs.values()) > 800


def test_the_night_gate_is_passed_between_ten_and_two(night: Demo) -> None:
    ((_, stop),) = night.stops("N3")
    opened, shut = 22 * 3600, 26 * 3600
    clock = night.operation.clock(NIGHT)
    assert opened <= clock.seconds(stop.begin)
    assert clock.seconds(stop.leave) <= shut


def test_the_readme_of_the_demos_tells_of_every_special_yard(county: Demo) -> None:
    text = (DEMOS / "README.md").read_text(encoding="utf-8")
    special = STARVING | set(NOT_FED) | {"Y10", "Y12", "Y20", "Y22", "Y07", "Y08", "Y36", "Y23", "Y33", "Y18"}
    for yard_id in special:
        assert f"{yard_id} {county.operation.yards[yard_id].name}" in text


def test_each_rule_of_the_dose_binds_somewhere(county: Demo) -> None:
    """Want, feeder, spoiling, box, own target, flow, last feeding date: as data_demo/README.md lists."""
    gallons = {y: county.needs[y].doses[0].each_l / L_PER_US_GAL for y in ("Y14", "Y21", "Y26", "Y31", "Y04")}
    assert all(1.2 < gallons[y] < 1.5 for y in ("Y14", "Y21", "Y26"))
    assert {county.needs[y].rounds_left for y in ("Y14", "Y21", "Y26")} == {0}
    assert "is taken in the 21 days it keeps" in county.needs["Y31"].why
    assert "of the 30 lb wanted" in county.needs["Y32"].why
    assert "of the 55 lb wanted" in county.needs["Y29"].why
    assert county.operation.groups_of("Y04")[0].flow_kg_per_day > 0
    late = {y for y, n in county.needs.items() if any("feed_by" in c for c in n.outlook)}
    assert {"Y08", "Y13", "Y15", "Y16", "Y20", "Y31", "Y32"} <= late
    assert not {"Y01", "Y14", "Y21", "Y26"} & late


def test_cautions_of_single_stops_stand_in_the_plan(county: Demo) -> None:
    found = {(w.code, w.place_id) for w in county.plan.warnings}
    assert ("foulbrood", "Y07") in found
    assert any(code == "watch_empties" for code, _ in found)
