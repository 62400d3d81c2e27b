"""The audit passes a good plan, finds every fault planted in one, and never falls over."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routing.audit import RULES, audit
from routing.domain.fleet import Underway
from routing.domain.places import Health, Stores
from routing.domain.plan import Plan, Stop, Unserved, Warning_
from tests.audit.faults import FAULTS, Fault
from tests.audit.mangle import edit_group, edit_item, edit_settings, leaves, with_leaf
from tests.support.builders import (
    DAY,
    SMALL_STARTS,
    SMALL_WARNINGS,
    Case,
    big_plan,
    small_case,
    small_steps,
    small_unserved,
)
from tests.support.simulator import End, Feed, Fill, Load, Pour, Rest, Wash, build_plan, drive

CASE = small_case()


def codes(case: Case) -> set[str]:
    return {finding.code for finding in audit(*case).findings}


def test_a_good_day_passes_with_no_findings() -> None:
    report = audit(*CASE)
    assert report.findings == ()
    assert report.passed


@pytest.mark.parametrize("yards", [1, 7, 40])
def test_a_larger_good_day_passes(yards: int) -> None:
    assert audit(*big_plan(yards)).findings == ()


def test_the_audit_says_what_it_checked() -> None:
    checks = audit(*CASE).checks
    assert len(checks) == len(RULES) + 1
    assert len(set(checks)) == len(checks)
    assert all(check.endswith(".") for check in checks)


@pytest.mark.parametrize("fault", FAULTS, ids=[fault.name.replace(" ", "_") for fault in FAULTS])
def test_a_planted_fault_is_found(fault: Fault) -> None:
    planted = fault.plant(CASE)
    assert repr(planted) != repr(CASE)
    found = codes(planted)
    assert fault.code in found, sorted(found)
    assert "rule_failed" not in found


OF_THE_WHOLE_PLAN = {
    "assumption_changed", "bound", "density", "heading", "negative", "not_a_number", "objective", "plan_cost",
    "plan_totals",
}  # fmt: skip
OF_THE_DAY_OR_A_TRUCK = {"caution_missing", "caution_untrue", "served_yards"}


def test_every_finding_says_what_is_wrong_and_where() -> None:
    """A truck or a place, but for what is said of the plan as a whole; at a stop also its number."""
    for fault in FAULTS:
        for finding in audit(*fault.plant(CASE)).findings:
            assert isinstance(finding.text, str), finding
            assert len(finding.text) > 8, finding
            if finding.code in OF_THE_WHOLE_PLAN:
                assert (finding.truck_id, finding.seq, finding.place_id) == (None, None, None)
            elif finding.code not in OF_THE_DAY_OR_A_TRUCK:
                assert finding.truck_id or finding.place_id, finding
            assert finding.seq is None or (finding.truck_id and finding.place_id), finding


AT_A_STOP = {
    "position", "clock_time", "leg", "leg_fuel", "leg_line", "time_chain", "time_backwards", "route_span",
    "gate_hours", "depot_hours", "late_feeding", "closed_date", "break_shape", "latest_arrive", "stop_order",
    "pour_too_fast", "load_too_fast", "hygiene", "quarantine_permit", "access_truck", "access_length",
    "access_mass", "tank_capacity", "tank_short", "syrup_mixed", "tank_dedicated", "level_stated",
    "pail_slots", "pails_at_base", "pails_short", "pails_stated", "pails_quarantined", "gross_stated",
    "gross_legal",
    "fill_place", "stock_early", "pour_place", "pour_group", "pour_vessel", "pour_amount", "feeder_over",
    "supers_on", "flow_on", "group_unfit", "too_cold", "feeder_refused", "starving_marked",
}  # fmt: skip


def test_a_finding_on_a_stop_names_its_number() -> None:
    for fault in FAULTS:
        for finding in audit(*fault.plant(CASE)).findings:
            if finding.code in AT_A_STOP and not finding.text.startswith("the route"):
                assert finding.seq is not None, finding


def test_every_rule_is_shown_to_bite() -> None:
    # Where the rest of a day begins needs a day log: tests/planning/test_second_replan.py.
    proved_elsewhere = {"wash_down", "goes_on_from"}
    assert {rule.code for rule in RULES} - {fault.code for fault in FAULTS} == proved_elsewhere


def test_a_finding_says_where_in_the_plan_it_stands() -> None:
    yards = edit_item(CASE.operation, "yards", "Y1", max_gross_kg=6300.0)
    (finding,) = audit(yards, CASE.travel, CASE.plan).findings
    assert (finding.truck_id, finding.seq, finding.place_id) == ("BIG", 3, "Y1")
    assert "6300.0 kg" in finding.text


def test_one_wrong_level_is_reported_once_and_not_at_every_later_stop() -> None:
    steps = [
        with_leaf(CASE.plan.routes[0].stops[i], ("after", "tanks", "B2", "volume_l"), 450.0 if i < 6 else v)
        for i, v in enumerate([0, 0, 0, 0, 0, 0, 155.0, 15.0, 15.0])
    ]
    plan = replace(CASE.plan, routes=(replace(CASE.plan.routes[0], stops=tuple(steps)), CASE.plan.routes[1]))
    (finding,) = audit(CASE.operation, CASE.travel, plan).findings
    assert (finding.code, finding.seq) == ("level_stated", 6)


def _rebuilt(case: Case, steps: dict[str, list[Any]], starts: dict[str, int] = SMALL_STARTS) -> Case:
    routes = tuple(
        drive(case.operation, case.travel, DAY, truck_id, starts[truck_id], each)
        for truck_id, each in steps.items()
    )
    plan = build_plan(case.operation, DAY, routes, small_unserved(case.operation), SMALL_WARNINGS)
    return case._replace(plan=plan)


def _quarantine_first(*between: Any) -> Case:
    """The small truck goes to the quarantined yard, then to a clean one."""
    steps = small_steps(CASE.operation)
    lone = steps["BIG"].pop(7)
    narrow = steps["SMALL"][1]
    assert isinstance(lone, Feed)
    assert isinstance(narrow, Feed)
    lone = Feed(lone.yard_id, tuple(replace(pour, tank_id="S1") for pour in lone.pour))
    load = Load("BASE", (Fill("HF55", 140.0, "S1"),))
    steps["SMALL"] = [load, lone, *between, Load("BASE", (Fill("S67", 230.0, "S1"),)), narrow, End("BASE")]
    return _rebuilt(CASE, steps)


def test_a_clean_yard_after_quarantine_is_right_once_the_truck_is_washed_down() -> None:
    assert codes(_quarantine_first(Wash("BASE"))) == set()
    assert codes(_quarantine_first()) == {"hygiene"}


def test_a_tank_takes_another_syrup_only_when_it_is_empty() -> None:
    case = _quarantine_first(Wash("BASE"))
    left = with_leaf(case.plan, ("routes", 1, "stops", 0, "fill", 0, "volume_l"), 150.0)
    assert "syrup_mixed" in codes(case._replace(plan=left))


def test_a_washdown_where_there_is_none_does_not_clean() -> None:
    assert {"wash_down", "hygiene"} <= codes(_quarantine_first(Wash("FIELD")))


def test_a_hurried_washdown_is_found() -> None:
    case = _quarantine_first(Wash("BASE"))
    longer = edit_settings(case.operation, "work", wash_s=1801)
    assert "wash_down" in codes(case._replace(operation=longer))


def test_yards_under_watch_may_come_first_where_the_keeper_does_not_mind() -> None:
    watched = edit_item(CASE.operation, "yards", "Y2", health=Health.WATCH)
    free = edit_settings(watched, "work", watch_after_clean=False)
    assert codes(CASE._replace(operation=watched)) == {"hygiene"}
    assert "hygiene" not in codes(CASE._replace(operation=free))


def test_gate_hours_bind_only_the_beginning_where_the_setting_says_so() -> None:
    shut = edit_item(CASE.operation, "yards", "Y2", windows=(replace(
        CASE.operation.yards["Y2"].windows[0], end_s=8 * 3600 + 30 * 60),))  # fmt: skip
    loose = edit_settings(shut, "shift", leave_by_window=False)
    assert codes(CASE._replace(operation=shut)) == {"gate_hours"}
    assert "gate_hours" not in codes(CASE._replace(operation=loose))


def test_a_yard_may_be_split_between_two_trucks_and_no_colony_is_fed_twice() -> None:
    steps = small_steps(CASE.operation)
    whole = steps["BIG"][4]
    assert isinstance(whole, Feed)
    (pails,) = whole.pour
    part = {n: replace(pails, colonies=n, pails=n, volume_l=7.5 * n) for n in (8, 12)}
    steps["BIG"][4] = Feed("Y5", (part[12],))
    first = steps["SMALL"][0]
    assert isinstance(first, Load)
    loads = Load("BASE", (*first.fill, Fill("S67", 60.0, None, 8)))
    steps["SMALL"] = [loads, steps["SMALL"][1], Feed("Y5", (part[8],)), End("BASE")]
    split = _rebuilt(CASE, steps)
    assert "pails_short" not in codes(split)
    steps["BIG"][4] = whole
    assert "colonies_over" in codes(_rebuilt(CASE, steps))


def test_colonies_of_a_group_get_the_same_from_every_tank() -> None:
    case = small_case()
    op = edit_item(case.operation, "feeders", "top3", tilt_derate=0.0)
    stop = next(s for s in case.plan.routes[0].stops if s.place_id == "Y3")
    (whole,) = stop.pour
    halves = (replace(whole, colonies=14, volume_l=140.0), replace(whole, colonies=16, volume_l=160.0))
    even = codes(_with_pour(case, halves)._replace(operation=op))
    assert not even & {"feeder_over", "pour_amount"}
    uneven = (replace(whole, colonies=14, volume_l=145.0), replace(whole, colonies=16, volume_l=155.0))
    assert "pour_amount" in codes(_with_pour(case, uneven)._replace(operation=op))
    lopsided = (replace(whole, colonies=14, volume_l=200.0), replace(whole, colonies=16, volume_l=100.0))
    assert "feeder_over" in codes(_with_pour(case, lopsided)._replace(operation=op))
    begun = (replace(whole, colonies=30, volume_l=297.0), replace(whole, colonies=0, volume_l=3.0))
    assert "pour_amount" in codes(_with_pour(case, begun)._replace(operation=op))


def _with_pour(case: Case, pour: tuple[Pour, ...]) -> Case:
    i, route = next((i, r) for i, r in enumerate(case.plan.routes) if r.truck_id == "BIG")
    k = next(k for k, s in enumerate(route.stops) if s.place_id == "Y3")
    return case._replace(plan=with_leaf(case.plan, ("routes", i, "stops", k, "pour"), pour))


def _starving(reason_code: str, *warnings: Warning_) -> Case:
    op = edit_group(CASE.operation, "Y9", stores=Stores(stores_kg=2.0))
    if reason_code == "no_truck_fits":
        op = edit_item(op, "yards", "Y9", trucks=("none",))
    left = tuple(
        replace(u, reason_code=reason_code, starving=True, days_of_stores=2 / 3) if u.yard_id == "Y9" else u
        for u in CASE.plan.unserved
    )
    said = (*CASE.plan.warnings, *warnings)
    plan = build_plan(op, DAY, CASE.plan.routes, left, ())
    return Case(op, CASE.travel, replace(plan, warnings=said))


LOUD = Warning_("starving_unserved", "Far Butte is starving and no truck can reach it.", "Y9")


def test_a_starving_yard_that_no_truck_can_reach_must_be_said_loudly() -> None:
    assert codes(_starving("no_truck_fits", LOUD)) == set()
    assert codes(_starving("no_truck_fits")) == {"caution_missing"}


def test_a_starving_yard_is_never_left_because_the_day_is_full() -> None:
    assert codes(_starving("shift_full", LOUD)) == {"starving_dropped"}
    assert codes(_starving("not_worth", LOUD)) == {"starving_dropped", "reason_refuted"}


def test_a_starving_yard_beyond_a_whole_shift_is_left_and_said_loudly() -> None:
    """There, setting up and back takes 1.85 h, whatever else is dropped."""
    case = _starving("shift_full", LOUD)
    near, far = _shift_of_hours(case, 1.9), _shift_of_hours(case, 1.8)
    assert "starving_dropped" in codes(near)
    assert "starving_dropped" not in codes(far)
    assert "caution_missing" in codes(far._replace(plan=replace(far.plan, warnings=())))


def test_a_starving_yard_is_left_when_every_truck_is_full_of_other_starving_ones() -> None:
    case = _starving("shift_full", LOUD)
    op, left = case.operation, list(case.plan.unserved)
    for group in op.groups:
        if group.yard_id not in ("Y3", "Y7", "Y8", "Y9"):
            op = edit_group(op, group.yard_id, group.group, stores=Stores(stores_kg=2.5))
    full = _rebuilt(Case(op, case.travel, case.plan), small_steps(op))
    full = full._replace(plan=replace(full.plan, unserved=tuple(left), warnings=(*full.plan.warnings, LOUD)))
    assert codes(full) == set()
    fed = edit_group(op, "Y4", stores=Stores(stores_kg=20.0))
    assert codes(full._replace(operation=fed)) == {"starving_dropped", "starving_marked"}
    idle = replace(full.plan, routes=full.plan.routes[:1])
    assert "starving_dropped" in codes(full._replace(plan=idle))


def _shift_of_hours(case: Case, hours: float) -> Case:
    return case._replace(
        operation=edit_settings(case.operation, "shift", max_s=int(hours * 3600), overtime_s=0)
    )


def test_a_starving_yard_with_supers_on_is_left_for_that_reason() -> None:
    op = edit_group(CASE.operation, "Y8", stores=Stores(stores_kg=1.9))
    left = tuple(
        replace(u, starving=True, days_of_stores=1 / 3) if u.yard_id == "Y8" else u
        for u in CASE.plan.unserved
    )
    said = (*CASE.plan.warnings, Warning_("starving_unserved", "The bees starve under supers.", "Y8"))
    assert codes(Case(op, CASE.travel, replace(CASE.plan, unserved=left, warnings=said))) == set()


def test_a_night_shift_over_midnight_passes() -> None:
    window = replace(CASE.operation.shift.window, start_s=21 * 3600, end_s=35 * 3600)
    op = edit_settings(CASE.operation, "shift", window=window)
    depots = {k: replace(d, windows=()) for k, d in op.depots.items()}
    yards = {k: replace(y, windows=()) for k, y in op.yards.items()}
    op = replace(op, depots=depots, yards=yards)
    starts = {"BIG": 21 * 3600, "SMALL": 22 * 3600}
    case = _rebuilt(Case(op, CASE.travel, CASE.plan), small_steps(op), starts)
    assert case.plan.routes[0].end.date() == date(2025, 9, 17)
    assert audit(*case).findings == ()


@pytest.mark.parametrize("day", [date(2025, 3, 9), date(2025, 11, 2)])
def test_the_day_the_clocks_change_is_timed_in_elapsed_seconds(day: date) -> None:
    op = replace(
        CASE.operation, groups=tuple(replace(g, date=day - timedelta(6)) for g in CASE.operation.groups)
    )
    starts = {truck: op.clock(day).elapsed_s(s) for truck, s in SMALL_STARTS.items()}
    routes = tuple(drive(op, CASE.travel, day, t, starts[t], s) for t, s in small_steps(op).items())
    plan = build_plan(op, day, routes, small_unserved(op), SMALL_WARNINGS)
    assert audit(op, CASE.travel, plan).findings == ()


def test_driving_clock_counts_any_pause_without_driving() -> None:
    """The visits of half an hour break the driving, so the break itself may go."""
    op = edit_settings(CASE.operation, "shift", break_clock="driving", break_after_s=2700)
    steps = small_steps(op)
    steps["BIG"] = [step for step in steps["BIG"] if not isinstance(step, Rest)]
    case = _rebuilt(Case(op, CASE.travel, CASE.plan), steps)
    assert codes(case) == set()
    tight = edit_settings(op, "shift", break_after_s=1800)
    assert codes(_rebuilt(Case(tight, CASE.travel, CASE.plan), steps)) == {"break_missed"}


def test_no_break_rule_where_the_break_is_set_to_nothing() -> None:
    op = edit_settings(CASE.operation, "shift", break_s=0, break_after_s=3600)
    assert "break_missed" not in codes(CASE._replace(operation=op))


def _underway(**state: int) -> set[str]:
    """What is found where the heavy truck is in mid-day; its fixed cost counted with its morning."""
    big = replace(
        CASE.operation.trucks["BIG"], underway=Underway(**({"from_s": 7 * 3600} | state)), fixed_cost=0.0
    )
    small = CASE.operation.trucks["SMALL"]
    op = replace(CASE.operation, trucks={"BIG": big, "SMALL": small})
    return codes(_rebuilt(CASE._replace(operation=op), small_steps(op)))


def test_what_a_truck_in_mid_day_has_behind_it_counts() -> None:
    """By hand: it works 23,532 s, 6,802 of them at the wheel; its break comes 15,116 s into the work."""
    assert _underway() == set()
    assert "work_hours" in _underway(worked_s=2 * 43_200 - 43_200 - 23_531)
    assert "work_hours" not in _underway(worked_s=43_200 - 23_532)
    assert _underway(driven_s=39_600 - 6_802) == set()
    assert _underway(driven_s=39_600 - 6_801) == {"driving_hours"}
    assert _underway(since_break_s=18_000 - 15_116) == set()
    assert _underway(since_break_s=18_000 - 15_115) == {"break_missed"}
    assert _underway(rank=1) == {"hygiene"}
    assert _underway(from_s=7 * 3600 - 1) == {"shift_window"}


def test_overtime_begins_where_the_ordinary_hours_end() -> None:
    assert {"route_totals", "caution_missing"} <= _underway(worked_s=36_000 - 23_531)
    assert _underway(worked_s=36_000 - 23_532) == set()


def test_driving_before_the_rest_of_a_day_counts_on_the_driving_clock() -> None:
    """The first drive takes 1,005 s and the visit after it breaks the driving."""
    op = edit_settings(CASE.operation, "shift", break_clock="driving", break_after_s=2700)
    big = op.trucks["BIG"]
    for driven_s, found in ((2700 - 1005, set()), (2700 - 1004, {"break_missed"}), (10**6, {"break_missed"})):
        state = Underway(from_s=7 * 3600, driven_since_break_s=driven_s)
        known = edit_item(op, "trucks", "BIG", underway=state, fixed_cost=0.0)
        assert big.underway is None
        steps = small_steps(known)
        steps["BIG"][0] = replace(steps["BIG"][0], fill=())
        assert ("break_missed" in codes(_rebuilt(CASE._replace(operation=known), steps))) == bool(found)


def test_syrup_in_a_tank_since_the_morning_may_be_poured() -> None:
    tanks = CASE.operation.trucks["BIG"].tanks
    op = edit_item(CASE.operation, "trucks", "BIG", tanks=(replace(tanks[0], level_l=100.0), tanks[1]))
    steps = small_steps(op)
    first = steps["BIG"][0]
    assert isinstance(first, Load)
    steps["BIG"][0] = Load("BASE", (replace(first.fill[0], volume_l=460.0), *first.fill[1:]))
    with_it = _rebuilt(CASE._replace(operation=op), steps)
    assert codes(with_it) == set()
    assert "tank_short" in codes(with_it._replace(operation=CASE.operation))


def test_every_pour_gives_each_of_its_colonies_the_same() -> None:
    stop = next(s for s in CASE.plan.routes[0].stops if s.place_id == "Y3")
    (whole,) = stop.pour
    halves = (replace(whole, colonies=14, volume_l=140.0), replace(whole, colonies=16, volume_l=160.0))
    assert codes(_with_pour(CASE, halves)) == set()
    for volume_l, colonies in ((0.0, 30), (300.0, 0)):
        assert "pour_amount" in codes(
            _with_pour(CASE, (replace(whole, volume_l=volume_l, colonies=colonies),))
        )
    uneven = (replace(whole, colonies=14, volume_l=140.1), replace(whole, colonies=16, volume_l=159.9))
    assert codes(_with_pour(CASE, uneven)) >= {"pour_amount"}


def test_a_route_begins_once_ends_once_and_goes_somewhere() -> None:
    route = CASE.plan.routes[1]
    for kind in ("start", "end"):
        stops = (route.stops[0], replace(route.stops[1], kind=kind, pour=()), route.stops[2])
        plan = replace(CASE.plan, routes=(CASE.plan.routes[0], replace(route, stops=stops)))
        assert "route_ends" in codes(CASE._replace(plan=plan))
    idle = (route.stops[0], replace(route.stops[0], seq=1, kind="refill"), route.stops[2])
    plan = replace(CASE.plan, routes=(CASE.plan.routes[0], replace(route, stops=idle)))
    assert "empty_route" in codes(CASE._replace(plan=plan))


def test_a_plan_of_no_routes_leaves_every_yard_to_be_accounted_for() -> None:
    nothing = replace(CASE.plan, routes=())
    missing = [f.place_id for f in audit(*CASE._replace(plan=nothing)).findings if f.code == "yard_missing"]
    assert missing == ["Y1", "Y2", "Y3", "Y4", "Y5", "Y6"]


def _others(value: Any) -> list[Any]:
    if isinstance(value, bool):
        return [not value]
    if isinstance(value, datetime):
        return [value + timedelta(seconds=s) for s in (-60, 60)]
    if isinstance(value, date):
        return [value + timedelta(days=d) for d in (-1, 1)]
    if isinstance(value, int):
        return [value + 1, value - 1]
    if isinstance(value, float):
        return [value * 1.05 + 0.2, value * 0.95 - 0.2]
    return ["zzz"]


MANGLES = st.lists(
    st.tuples(
        st.sampled_from(["drop", "swap", "double", "leaf", "null"]),
        st.integers(0, 10_000),
        st.integers(0, 100),
    ),
    min_size=1,
    max_size=4,
)


def _mangled(plan: Plan, how: str, a: int, b: int) -> Plan:
    if how in ("leaf", "null"):
        found = list(leaves(plan))
        path, value = found[a % len(found)]
        others = _others(value) if value is not None else [0]
        wild = [-1e300, float("nan"), 10**30, 0] if isinstance(value, (int, float)) else others
        new: Plan = with_leaf(plan, path, (others if how == "leaf" else wild)[b % len(others)])
        return new
    i = a % len(plan.routes)
    stops: list[Stop] = list(plan.routes[i].stops)
    if not stops:
        return plan
    k, j = b % len(stops), a % len(stops)
    if how == "drop":
        del stops[k]
    elif how == "swap":
        stops[k], stops[j] = stops[j], stops[k]
    else:
        stops.insert(k, stops[j])
    route = replace(plan.routes[i], stops=tuple(stops))
    return replace(plan, routes=(*plan.routes[:i], route, *plan.routes[i + 1 :]))


@settings(max_examples=300, deadline=None, derandomize=True)
@given(MANGLES)
def test_no_mangled_plan_makes_the_audit_fall_over(mangles: list[tuple[str, int, int]]) -> None:
    plan = CASE.plan
    for how, a, b in mangles:
        plan = _mangled(plan, how, a, b)
    report = audit(CASE.operation, CASE.travel, plan)
    assert not {"rule_failed", "plan_unreadable"} & {finding.code for finding in report.findings}
    if [s for r in plan.routes for s in r.stops] != [s for r in CASE.plan.routes for s in r.stops] and all(
        how in ("drop", "swap", "double") for how, _, _ in mangles
    ):
        assert not report.passed


def test_a_stop_of_a_yard_listed_as_left_in_part_counts_as_not_served() -> None:
    part = Unserved("Y1", "shift_full", "no time", "tomorrow", 44.0, 1, 7.5, syrup_cost=7.5 * 0.95)
    case = CASE._replace(plan=replace(CASE.plan, unserved=(*CASE.plan.unserved, part)))
    found = codes(case)
    assert {"served_yards", "unserved_colonies", "objective"} <= found
    assert "yard_both" not in found
