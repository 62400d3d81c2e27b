"""Faults to plant in a good plan, each one change, each a statement of the trade with the code it earns.

Some change the plan; some change the facts under it (a gate that closes earlier, a smaller tank).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

from routing.domain.clock import TimeWindow
from routing.domain.operation import Assumption, Operation
from routing.domain.places import FedSince, Foulbrood, Health, Position, Priority, Stock, Stores
from routing.domain.plan import Plan, Stop, Unserved, Warning_
from routing.domain.supplies import FeederPosition, Risk
from tests.audit.mangle import (
    edit_group,
    edit_item,
    edit_route,
    edit_settings,
    edit_stop,
    with_leaf,
)
from tests.support.builders import DAY, HOUR, Case

Facts = Callable[[Operation], Operation]


class Fault(NamedTuple):
    """One thing wrong, the code that must be found, and how it is done to a case."""

    name: str
    code: str
    plant: Callable[[Case], Case]


def _in_plan(name: str, code: str, change: Callable[[Plan], Plan]) -> Fault:
    return Fault(name, code, lambda case: case._replace(plan=change(case.plan)))


def _in_facts(name: str, code: str, change: Facts) -> Fault:
    return Fault(name, code, lambda case: case._replace(operation=change(case.operation)))


def _at(place_id: str, kind: str = "yard", /, **changes: Any) -> Callable[[Plan], Plan]:
    """Change fields of a stop; a callable is given the stop."""

    def change(stop: Stop) -> Stop:
        return replace(stop, **{k: v(stop) if callable(v) else v for k, v in changes.items()})

    return lambda plan: edit_stop(plan, place_id, change, kind)


def _pour(place_id: str, i: int = 0, **changes: Any) -> Callable[[Plan], Plan]:
    def change(stop: Stop) -> Stop:
        pour = list(stop.pour)
        pour[i] = replace(pour[i], **changes)
        return replace(stop, pour=tuple(pour))

    return lambda plan: edit_stop(plan, place_id, change)


def _fill(place_id: str, kind: str, i: int = 0, **changes: Any) -> Callable[[Plan], Plan]:
    """Change a fill of the big truck."""

    def change(stop: Stop) -> Stop:
        if len(stop.fill) <= i:
            return stop
        fill = list(stop.fill)
        fill[i] = replace(fill[i], **changes)
        return replace(stop, fill=tuple(fill))

    return lambda plan: edit_route(
        plan,
        "BIG",
        lambda r: replace(
            r, stops=tuple(change(s) if (s.place_id, s.kind) == (place_id, kind) else s for s in r.stops)
        ),
    )


def _after(place_id: str, **changes: Any) -> Callable[[Plan], Plan]:
    return _at(place_id, after=lambda s: replace(s.after, **changes))


def _without(kind: str, place_id: str) -> Callable[[Plan], Plan]:
    def change(plan: Plan) -> Plan:
        return edit_route(
            plan,
            "BIG",
            lambda r: replace(r, stops=tuple(s for s in r.stops if (s.kind, s.place_id) != (kind, place_id))),
        )

    return change


def _left(yard_id: str, **changes: Any) -> Callable[[Plan], Plan]:
    return lambda plan: replace(
        plan, unserved=tuple(replace(u, **changes) if u.yard_id == yard_id else u for u in plan.unserved)
    )


def _leaf(*path: str | int, add: float) -> Callable[[Plan], Plan]:
    """Add to one figure of the plan."""

    def change(plan: Plan) -> Plan:
        value: Any = plan
        for step in path:
            value = value[step] if isinstance(value, (tuple, dict)) else getattr(value, str(step))
        changed: Plan = with_leaf(plan, path, value + add)
        return changed

    return change


def _item(mapping: str, key: str, **changes: Any) -> Facts:
    return lambda op: edit_item(op, mapping, key, **changes)


def _group(yard_id: str, group: str = "all", **changes: Any) -> Facts:
    return lambda op: edit_group(op, yard_id, group, **changes)


def just_fed(each_l: float, syrup_id: str = "S67") -> FedSince:
    """A feeding in the last minute before the planned day."""
    midnight = datetime(DAY.year, DAY.month, DAY.day, tzinfo=ZoneInfo("America/Chicago"))
    return FedSince(midnight - timedelta(minutes=1), each_l, syrup_id)


def _setting(section: str, **changes: Any) -> Facts:
    return lambda op: edit_settings(op, section, **changes)


def _big_tank(i: int, **changes: Any) -> Facts:
    def change(op: Operation) -> Operation:
        tanks = list(op.trucks["BIG"].tanks)
        tanks[i] = replace(tanks[i], **changes)
        return edit_item(op, "trucks", "BIG", tanks=tuple(tanks))

    return change


def _field_stock(**changes: Any) -> Facts:
    row = replace(Stock("FIELD", "S67", 1500.0, 1.2), **changes)
    return _item("depots", "FIELD", stock=(row,))


def _both(first: Facts, second: Facts) -> Facts:
    return lambda op: second(first(op))


def _at_all_hours(name: str, reason_code: str) -> Fault:
    """The yard that is left called so, in an operation whose depots never shut and run dry."""

    def plant(case: Case) -> Case:
        op, plan = case.operation, _left("Y9", reason_code=reason_code)(case.plan)
        depots = {key: replace(depot, windows=()) for key, depot in op.depots.items()}
        return case._replace(operation=replace(op, depots=depots), plan=plan)

    return Fault(name, "reason_refuted", plant)


MINUTE = timedelta(minutes=1)
STORES_ENOUGH = Unserved("Y1", "stores_enough", "enough", "look again", 44.0, 0, 0.0)

SHAPE = [
    _in_plan("a plan made for another operation", "heading", lambda p: replace(p, operation="Elsewhere")),
    _in_plan("a plan in another time zone", "heading", lambda p: replace(p, timezone="America/Denver")),
    _in_plan(
        "a plan that rests on a setting the keeper has changed",
        "assumption_changed",
        lambda p: with_leaf(p, ("assumptions", "feeding.conversion", "value"), 0.9),
    ),
    _in_plan(
        "a setting that is not listed",
        "assumption_changed",
        lambda p: replace(p, assumptions={k: v for k, v in p.assumptions.items() if k != "work.pail_kg"}),
    ),
    _in_plan(
        "a setting that nobody has",
        "assumption_changed",
        lambda p: replace(p, assumptions=p.assumptions | {"feeding.luck": Assumption(1, "", "a choice")}),
    ),
    _in_plan(
        "a guess passed off as a source",
        "assumption_changed",
        lambda p: with_leaf(p, ("assumptions", "feeding.reserve_days", "source"), "a handbook"),
    ),
    _in_plan("a plan in other units", "heading", lambda p: replace(p, units="metric")),
    _in_plan("drives from nobody knows where", "heading", lambda p: replace(p, travel="a friend")),
    _in_plan(
        "a truck nobody owns",
        "unknown_id",
        lambda p: edit_route(p, "BIG", lambda r: replace(r, truck_id="GHOST")),
    ),
    _in_plan("a yard nobody has", "unknown_id", _at("Y1", place_id="Y99")),
    _in_plan("a tank the truck has not", "unknown_id", _pour("Y1", tank_id="B9")),
    _in_plan("a feeder nobody has", "unknown_id", _pour("Y1", feeder_id="bucket")),
    _in_plan("a syrup nobody has", "unknown_id", _pour("Y1", syrup_id="molasses")),
    _in_plan("a truck in two places", "truck_twice", lambda p: replace(p, routes=(*p.routes, p.routes[0]))),
    _in_plan(
        "a truck that drives to no yard",
        "empty_route",
        lambda p: edit_route(p, "SMALL", lambda r: replace(r, stops=(r.stops[0], r.stops[-1]))),
    ),
    _in_plan(
        "a route without stops",
        "empty_route",
        lambda p: edit_route(p, "SMALL", lambda r: replace(r, stops=())),
    ),
    _in_facts(
        "a truck in the workshop", "truck_available", _item("trucks", "BIG", available=(date(2025, 9, 20),))
    ),
    _in_plan("a truck that does not come home", "route_ends", _without("end", "BASE")),
    _in_facts("a truck that starts elsewhere", "route_ends", _item("trucks", "BIG", start_depot="FIELD")),
    _in_plan("stops numbered out of order", "stop_order", _at("Y1", seq=9)),
    _in_plan("a yard stop with another's number", "stop_number", _at("Y1", number=2)),
    _in_plan("a depot counted as a yard", "stop_number", _at("FIELD", "refill", number=1)),
    _in_plan("a stop drawn in the wrong place", "position", _at("Y1", lat=44.64)),
    _in_facts("a yard that has moved", "position", _item("yards", "Y1", position=Position(44.0, -100.25))),
    _in_facts("syrup lighter than sugar allows", "density", _item("syrups", "S67", density_kg_per_l=1.30)),
    _in_facts(
        "corn syrup weighed as sugar syrup", "density", _item("syrups", "HF55", density_kg_per_l=1.3268)
    ),
    _in_facts("syrup of unknown mass", "density", _item("syrups", "S67", density_kg_per_l=None)),
]

TIME = [
    _in_plan("a time without a zone", "clock_time", _at("Y1", begin=lambda s: s.begin.replace(tzinfo=None))),
    _in_plan("a time of another zone", "clock_time", _at("Y1", leave=lambda s: s.leave.astimezone(UTC))),
    _in_plan(
        "a time in split seconds", "clock_time", _at("Y1", begin=lambda s: s.begin.replace(microsecond=5))
    ),
    _in_plan("a stop next week", "clock_time", _at("Y1", leave=lambda s: s.leave + timedelta(days=7))),
    _in_plan("a leg shorter than the road", "leg", _at("Y1", leg=lambda s: replace(s.leg, distance_m=100))),
    _in_plan("a leg driven too fast", "leg", _at("Y1", leg=lambda s: replace(s.leg, drive_s=60))),
    _in_plan("fuel for an empty truck", "leg_fuel", _at("Y1", leg=lambda s: replace(s.leg, fuel_l=1.0))),
    _in_plan("a teleporting truck", "time_chain", _at("Y1", arrive=lambda s: s.arrive - MINUTE)),
    _in_plan("a stop left out with its drive", "time_chain", _without("yard", "Y1")),
    _in_plan("work begun before arrival", "time_backwards", _at("Y1", begin=lambda s: s.arrive - MINUTE)),
    _in_plan(
        "a route that ends later than it ends",
        "route_span",
        lambda p: edit_route(p, "BIG", lambda r: replace(r, end=r.end + MINUTE)),
    ),
]

HOURS = [
    _in_plan(
        "a latest arrival after the gate has shut",
        "latest_arrive",
        _at("Y2", latest_arrive=lambda s: s.arrive + 300 * MINUTE),
    ),
    _in_plan(
        "a latest arrival before the planned one",
        "latest_arrive",
        _at("Y3", latest_arrive=lambda s: s.arrive - MINUTE),
    ),
    _in_plan(
        "a gate passed a minute before it opens", "gate_hours", _at("Y2", begin=lambda s: s.begin - MINUTE)
    ),
    _in_facts(
        "a gate that shuts a minute before the truck is out",
        "gate_hours",
        _item("yards", "Y2", windows=(TimeWindow(8 * HOUR, 8 * HOUR + 54 * 60),)),
    ),
    _in_facts(
        "a night worked where daylight alone is",
        "daylight",
        lambda op: replace(edit_settings(op, "work", daylight_only=True), timezone="Asia/Tokyo"),
    ),
    _in_facts(
        "a depot not yet open",
        "depot_hours",
        _item("depots", "FIELD", windows=(TimeWindow(10 * HOUR, 18 * HOUR),)),
    ),
    _in_facts(
        "a yard shut when the truck comes home",
        "depot_hours",
        _item("depots", "BASE", windows=(TimeWindow(5 * HOUR, 12 * HOUR),)),
    ),
    _in_facts(
        "feeders that drip filled in the morning under robbing",
        "late_feeding",
        _both(_setting("feeding", robbing="high"), _item("feeders", "frame2", spills=Risk.HIGH)),
    ),
    _in_facts(
        "a yard whose season is over", "closed_date", _item("yards", "Y1", until_date=date(2025, 9, 15))
    ),
    _in_facts(
        "a yard whose season has not begun", "closed_date", _item("yards", "Y1", from_date=date(2025, 9, 17))
    ),
    _in_plan("a break cut short", "break_shape", _at("Y5", "break", leave=lambda s: s.leave - MINUTE)),
    _in_plan("a break left out", "break_missed", _without("break", "Y5")),
    _in_facts("a break that comes too late", "break_missed", _setting("shift", break_after_s=4 * HOUR)),
    _in_facts("more driving than allowed", "driving_hours", _setting("shift", max_driving_s=6800)),
    _in_facts(
        "a crew called before its shift",
        "shift_window",
        _setting("shift", window=TimeWindow(7 * HOUR + 60, 20 * HOUR)),
    ),
    _in_facts(
        "a crew kept after its shift",
        "shift_window",
        _setting("shift", window=TimeWindow(6 * HOUR, 13 * HOUR)),
    ),
    _in_facts("a day too long", "work_hours", _setting("shift", max_s=5 * HOUR, overtime_s=HOUR)),
]

WORK = [
    _in_plan(
        "colonies fed faster than hands can", "pour_too_fast", _at("Y1", leave=lambda s: s.leave - MINUTE)
    ),
    _in_facts(
        "colonies fed as fast as by two, by one", "pour_too_fast", _item("feeders", "frame2", service_s=79.0)
    ),
    _in_facts(
        "syrup poured faster than the pump can", "pour_too_fast", _item("trucks", "BIG", pump_l_per_s=0.1)
    ),
    _in_plan(
        "a tank filled too fast", "load_too_fast", _at("FIELD", "refill", leave=lambda s: s.leave - MINUTE)
    ),
    _in_facts(
        "a clean yard after a quarantined one", "hygiene", _item("yards", "Y2", health=Health.QUARANTINE)
    ),
    _in_facts("a clean yard after one under watch", "hygiene", _item("yards", "Y2", health=Health.WATCH)),
    _in_facts(
        "foulbrood entered without a typed permit",
        "quarantine_permit",
        _item("yards", "Y6", foulbrood=Foulbrood.SUSPECTED),
    ),
    _in_facts(
        "quarantine entered without a permit", "quarantine_permit", _setting("work", quarantine_permit=False)
    ),
    _in_facts("a truck the yard does not allow", "access_truck", _item("yards", "Y1", trucks=("SMALL",))),
    _in_facts("a truck too long for the track", "access_length", _item("yards", "Y1", max_length_m=8.0)),
    _in_facts("a truck too heavy for the bridge", "access_mass", _item("yards", "Y1", max_gross_kg=6300.0)),
]

LOAD = [
    _in_plan("an overfull tank", "tank_capacity", _fill("BASE", "start", volume_l=571.0)),
    _in_facts("a tank smaller than its load", "tank_capacity", _big_tank(0, capacity_l=559.0)),
    _in_plan("more poured than was taken", "tank_short", _fill("FIELD", "refill", volume_l=40.0)),
    _in_plan("another syrup than the tank holds", "syrup_mixed", _pour("Y4", syrup_id="HF55")),
    _in_plan(
        "corn syrup filled on top of sugar syrup", "syrup_mixed", _fill("FIELD", "refill", syrup_id="HF55")
    ),
    _in_facts("a tank kept for another syrup", "tank_dedicated", _big_tank(1, syrup_id="S67")),
    _in_plan(
        "a wrong level",
        "level_stated",
        lambda p: with_leaf(p, ("routes", 0, "stops", 1, "after", "tanks", "B1", "volume_l"), 265.0),
    ),
    _in_plan(
        "a level of the wrong syrup",
        "level_stated",
        lambda p: with_leaf(p, ("routes", 0, "stops", 1, "after", "tanks", "B1", "syrup_id"), "HF55"),
    ),
    _in_plan("a tank not accounted for", "level_stated", _after("Y1", tanks={})),
    _in_facts("more pails than slots", "pail_slots", _item("trucks", "BIG", pail_slots=19)),
    _in_facts("pails loaded away from base", "pails_at_base", _item("depots", "BASE", base=False)),
    _in_plan("a pail given that was not loaded", "pails_short", _fill("BASE", "start", 2, pails=19)),
    _in_plan("a pail miscounted", "pails_stated", _after("Y5", pails_full=1)),
    _in_facts(
        "pails brought back from quarantine",
        "pails_quarantined",
        _item("yards", "Y5", health=Health.QUARANTINE),
    ),
    _in_plan(
        "a wrong mass",
        "gross_stated",
        lambda p: _leaf("routes", 0, "stops", 1, "after", "gross_kg", add=-100.0)(p),
    ),
    _in_facts("a truck over its legal mass", "gross_legal", _item("trucks", "BIG", gvwr_kg=6600.0)),
    _in_facts("a refill where there is no syrup", "fill_place", _item("depots", "FIELD", stock=())),
    _in_plan(
        "a refill in a yard",
        "fill_place",
        lambda p: edit_stop(p, "Y1", lambda s: replace(s, fill=p.routes[0].stops[2].fill)),
    ),
    _in_facts("syrup that the tanker brings later", "stock_early", _field_stock(from_s=10 * HOUR)),
    _in_facts("stock overdrawn", "stock_overdrawn", _field_stock(on_hand_l=64.0)),
]

POUR = [
    _in_plan("a yard visited for nothing", "pour_place", _at("Y1", pour=())),
    _in_plan(
        "syrup poured at a depot",
        "pour_place",
        lambda p: edit_stop(p, "FIELD", lambda s: replace(s, pour=p.routes[0].stops[3].pour), "refill"),
    ),
    _in_plan("a group that is not there", "pour_group", _pour("Y1", group="nobody")),
    _in_facts("a group with another feeder", "pour_group", _group("Y2", feeder_id="top3")),
    _in_facts("a group on another syrup", "pour_group", _group("Y2", syrup_id="HF55")),
    _in_facts("pumped where pails are swapped", "pour_vessel", _item("feeders", "frame2", swapped=True)),
    _in_facts("swapped where feeders are filled", "pour_vessel", _item("feeders", "pail2", swapped=False)),
    _in_plan("fewer pails than colonies", "pour_vessel", _pour("Y5", pails=19)),
    _in_plan("nothing poured", "pour_amount", _pour("Y1", volume_l=0.0)),
    _in_plan("more colonies fed than there are", "colonies_over", _pour("Y1", colonies=31)),
    _in_plan(
        "a yard fed twice",
        "colonies_over",
        lambda p: edit_stop(p, "Y1", lambda s: replace(s, pour=s.pour * 2)),
    ),
    _in_facts("more than the feeder holds", "feeder_over", _item("feeders", "frame2", capacity_l=7.49)),
    _in_facts("more than a half-full feeder takes", "feeder_over", _group("Y2", fed=(just_fed(3.0),))),
    _in_facts("more than a tilted feeder takes", "feeder_over", _item("feeders", "top3", tilt_derate=0.4)),
    _in_facts("fed with supers on", "supers_on", _item("yards", "Y1", supers_on=True)),
    _in_facts("fed in a flow", "flow_on", _group("Y2", flow_kg_per_day=4.0)),
    _in_facts("fed on a stale inspection", "group_unfit", _group("Y2", date=date(2025, 7, 1))),
    _in_facts("fed where no bees are", "group_unfit", _group("Y2", strength_frames=0.0)),
    _in_facts("fed in the cold", "too_cold", _item("yards", "Y1", temperature_c=9.9)),
    _in_facts(
        "an open tub where none is allowed",
        "feeder_refused",
        _item("feeders", "frame2", position=FeederPosition.COMMUNAL),
    ),
    _in_facts(
        "feeders that drip, never under robbing",
        "feeder_refused",
        _both(
            _setting("feeding", robbing="high", spill_prone="never"),
            _item("feeders", "frame2", spills=Risk.HIGH),
        ),
    ),
]

DOSES = [
    _in_plan("a colony given a tenth less", "dose", _pour("Y2", volume_l=270.0)),
    _in_plan("a cup more for all", "dose", _pour("Y2", volume_l=300.1)),
    _in_facts("a dose for stores that are higher", "dose", _group("Y2", stores=Stores(stores_kg=42.0))),
    _in_facts("a dose for a feeder that held more", "dose", _item("feeders", "frame1", capacity_l=5.2)),
    _in_facts("a dose that so few bees never finish", "dose", _group("Y1", "weak", strength_frames=0.2)),
    _in_facts("a dose of syrup that spoils first", "dose", _item("syrups", "S67", keeps_days=2.0)),
    _in_plan("colonies left out in silence", "left_short", _pour("Y1", colonies=1, volume_l=7.5)),
    _in_plan("colonies left and not counted", "left_short", _left("Y9", colonies=35, volume_l=262.5)),
    _in_plan("syrup left and not counted", "left_short", _left("Y9", volume_l=200.0)),
    _in_plan("another reason of the bees", "reason_of_bees", _left("Y7", reason_code="supers_on")),
    _in_plan("a day full where supers are on", "reason_of_bees", _left("Y8", reason_code="no_permit")),
    _in_facts("feeders that are full", "dose", _group("Y2", fed=(just_fed(7.4),))),
    _in_facts("a tub that no bee can have emptied", "reason_of_bees", _group("Y9", fed=(just_fed(7.4),))),
]

YARDS = [
    _in_plan("a yard dropped in silence", "yard_missing", lambda p: replace(p, unserved=p.unserved[:-1])),
    _in_plan(
        "a yard both fed and left", "yard_both", lambda p: replace(p, unserved=(*p.unserved, STORES_ENOUGH))
    ),
    _in_plan("more colonies left than there are", "unserved_colonies", _left("Y9", colonies=37)),
    _in_plan("syrup left for nobody", "unserved_colonies", _left("Y9", colonies=0)),
    _in_plan("more left than feeders take", "unserved_volume", _left("Y9", volume_l=300.0)),
    _in_plan("syrup left that costs nothing", "unserved_cost", _left("Y9", syrup_cost=0.0)),
    _in_plan("no remedy", "unserved_reason", _left("Y9", remedy=" ")),
    _in_plan("an unknown reason", "unserved_reason", _left("Y9", reason_code="forgotten")),
    _in_facts("supers that are off", "reason_of_bees", _item("yards", "Y8", supers_on=False)),
    _in_facts("stores that are not enough", "reason_of_bees", _group("Y7", stores=Stores(stores_kg=35.0))),
    _in_plan("a warm yard called too cold", "reason_of_bees", _left("Y7", reason_code="too_cold")),
    _in_plan("more days of stores than there are", "days_stated", _left("Y9", days_of_stores=60.0)),
    _in_plan("a yard called starving that is not", "days_stated", _left("Y9", starving=True)),
    _in_plan("a yard marked as starving that is not", "starving_marked", _at("Y1", starving=True)),
    _in_plan("a starving yard no longer marked", "starving_marked", _at("Y3", starving=False)),
    *(
        _in_plan(f"syrup left and called {code}", "reason_by_amount", _left("Y9", reason_code=code))
        for code in ("stores_enough", "feeder_full", "closed")
    ),
    _in_plan("nothing due and called a full day", "reason_by_amount", _left("Y7", reason_code="shift_full")),
    *(
        _in_plan(f"left for {code} which any truck refutes", "reason_refuted", _left("Y9", reason_code=code))
        for code in (
            "no_truck_fits",
            "no_tank_for_syrup",
            "no_pail_slots",
            "no_full_pails",
            "beyond_shift",
            "unclean_truck",
            "not_worth",
            "no_room",
        )
    ),
    _at_all_hours("stock said to be short where there is plenty", "stock_short"),
    _at_all_hours("gate hours blamed where no gate is shut", "out_of_hours"),
    _in_facts("a starving yard dropped", "starving_dropped", _group("Y9", stores=Stores(stores_kg=2.0))),
]


def _warned(code: str, keep: bool = False, **changes: Any) -> Callable[[Plan], Plan]:
    """Leave the cautions of a code out, or change them."""
    return lambda plan: replace(
        plan,
        warnings=tuple(
            replace(w, **changes) if w.code == code else w for w in plan.warnings if keep or w.code != code
        ),
    )


def _added(code: str, place_id: str | None = None, truck_id: str | None = None) -> Callable[[Plan], Plan]:
    return lambda p: replace(p, warnings=(*p.warnings, Warning_(code, "Mind.", place_id, truck_id)))


CAUTIONS = [
    *(
        _in_plan(f"the caution {code} left out", "caution_missing", _warned(code))
        for code in ("quarantine", "surge", "stings")
    ),
    _in_facts(
        "a bridge that bears little more", "caution_missing", _item("yards", "Y5", max_gross_kg=6100.0)
    ),
    _in_facts(
        "a yard with foulbrood", "caution_missing", _item("yards", "Y6", foulbrood=Foulbrood.CONFIRMED)
    ),
    _in_facts("pails swapped under watch", "caution_missing", _item("yards", "Y5", health=Health.WATCH)),
    _in_facts("a yard that must be fed", "caution_missing", _item("yards", "Y9", priority=Priority.MUST)),
    _in_plan("a yard asked for by name", "caution_missing", lambda p: replace(p, must=("Y9",))),
    _in_facts("a yard called in", "caution_missing", _item("yards", "Y9", called_in="bees hang out")),
    _in_facts("a day worked in the dark", "caution_missing", lambda op: replace(op, timezone="Asia/Tokyo")),
    _in_facts("a truck near its legal weight", "caution_missing", _item("trucks", "BIG", gvwr_kg=6700.0)),
    _in_facts("hours that are overtime", "caution_missing", _setting("shift", max_s=5 * HOUR)),
    _in_facts("robbing that is high", "caution_missing", _setting("feeding", robbing="high")),
    _in_plan("surge of another truck", "caution_untrue", _warned("surge", True, truck_id="GHOST")),
    *(
        _in_plan(f"the caution {code} invented", "caution_untrue", _added(code, place_id, truck_id))
        for code, place_id, truck_id in (
            ("starving_unserved", "Y9", None),
            ("quarantine", "Y1", None),
            ("foulbrood", "Y6", None),
            ("must_unserved", "Y9", None),
            ("watch_empties", None, "BIG"),
            ("bridge_slack", "Y1", "BIG"),
            ("dark", "Y1", "BIG"),
            ("near_legal_weight", None, "SMALL"),
            ("overtime", None, "BIG"),
            ("robbing", None, None),
        )
    ),
]


def _line(*points: tuple[float, float]) -> Callable[[Plan], Plan]:
    return _at("Y1", leg=lambda s: replace(s.leg, geometry=points))


LINES = [
    _in_plan("a leg drawn elsewhere", "leg_line", _line((-99.0, 44.0), (-99.1, 44.1))),
    _in_plan("a leg not drawn", "leg_line", _line()),
    _in_plan(
        "a leg drawn by way of the next county",
        "leg_line",
        _line((-100.3, 44.58), (-99, 44), (-100.25, 44.63)),
    ),
    _in_plan(
        "a line where nothing is driven",
        "leg_line",
        _at("BASE", "start", leg=lambda s: replace(s.leg, geometry=((-100.4, 44.4), (-100.3, 44.4)))),
    ),
]

TOTALS = [
    *(
        _in_plan(f"a route's {name} out by one", "route_totals", _leaf("routes", 0, "totals", name, add=1))
        for name in (
            "distance_m",
            "drive_s",
            "work_s",
            "wait_s",
            "break_s",
            "overtime_s",
            "fuel_l",
            "volume_l",
        )
    ),
    *(
        _in_plan(f"the plan's {name} out by one", "plan_totals", _leaf("totals", name, add=-1))
        for name in ("distance_m", "drive_s", "work_s", "wait_s", "co2_kg", "served_colonies", "volume_l")
    ),
    *(
        _in_plan(
            f"a route's {name} cost out by a dime",
            "route_cost",
            _leaf("routes", 0, "totals", "cost", name, add=0.1),
        )
        for name in ("labor", "fuel", "vehicle", "syrup", "total")
    ),
    _in_plan("the plan's cost out by a dime", "plan_cost", _leaf("totals", "cost", "total", add=-0.1)),
    _in_facts("fuel dearer than priced", "route_cost", _setting("cost", fuel_per_l=2.0)),
    _in_plan("a yard counted twice", "served_yards", _leaf("totals", "served_yards", add=1)),
    _in_plan(
        "a yard counted twice on a route", "served_yards", _leaf("routes", 0, "totals", "served_yards", add=1)
    ),
    _in_plan(
        "an objective that is not its parts", "objective", _leaf("totals", "objective", "total", add=-50.0)
    ),
    _in_plan(
        "yards left that weigh nothing",
        "objective",
        _leaf("totals", "objective", "parts", "unserved", add=-1600.0),
    ),
    _in_plan("a bound above the plan", "bound", _leaf("totals", "bound", "objective", add=1000.0)),
    _in_plan("a gap too good", "bound", _leaf("totals", "bound", "gap", add=-0.09)),
    _in_plan("a figure that is none", "not_a_number", _leaf("totals", "fuel_l", add=math.nan)),
    _in_plan("an amount without end", "not_a_number", _pour("Y1", volume_l=math.inf)),
    _in_plan("less than nothing poured", "negative", _pour("Y1", volume_l=-5.0)),
]

FAULTS: list[Fault] = [
    *SHAPE, *TIME, *HOURS, *WORK, *LOAD, *POUR, *DOSES, *YARDS, *CAUTIONS, *LINES, *TOTALS,
]  # fmt: skip
