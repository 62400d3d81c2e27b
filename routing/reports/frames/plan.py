"""A plan as data frames: its stops, what is poured and filled at each, totals, and who is not fed."""

from __future__ import annotations

import pandas as pd

from routing.domain.operation import Operation
from routing.domain.plan import Plan, Stop
from routing.reports.frames.frame import frame_of
from routing.reports.words.names import place_name

STOPS = {
    "date": "date",
    "truck_id": "str",
    "seq": "int64",
    "kind": "str",
    "place_id": "str",
    "place_name": "str",
    "lat_deg": "float64",
    "lon_deg": "float64",
    "arrive": "time",
    "begin": "time",
    "leave": "time",
    "distance_m": "int64",
    "drive_s": "int64",
    "climb_m": "int64",
    "wait_s": "int64",
    "service_s": "int64",
    "colonies": "int64",
    "poured_l": "float64",
    "filled_l": "float64",
    "pails_given": "int64",
    "pails_loaded": "int64",
    "gross_after_kg": "float64",
    "fuel_l": "float64",
    "notes": "str",
}
POURS = {
    "date": "date",
    "truck_id": "str",
    "seq": "int64",
    "yard_id": "str",
    "group": "str",
    "feeder_id": "str",
    "syrup_id": "str",
    "colonies": "int64",
    "volume_l": "float64",
    "tank_id": "str",
    "pails": "int64",
    "begin": "time",
}
FILLS = {
    "date": "date",
    "truck_id": "str",
    "seq": "int64",
    "depot_id": "str",
    "syrup_id": "str",
    "volume_l": "float64",
    "tank_id": "str",
    "pails": "int64",
    "begin": "time",
}
UNSERVED = {
    "yard_id": "str",
    "yard_name": "str",
    "due": "bool",
    "starving": "bool",
    "days_of_stores": "float64",
    "colonies": "int64",
    "volume_l": "float64",
    "reason_code": "str",
    "reason": "str",
    "remedy": "str",
}
TOTALS = {
    "truck_id": "str",
    "start": "time",
    "end": "time",
    "distance_m": "int64",
    "drive_s": "int64",
    "work_s": "int64",
    "wait_s": "int64",
    "break_s": "int64",
    "overtime_s": "int64",
    "fuel_l": "float64",
    "co2_kg": "float64",
    "cost": "float64",
    "served_yards": "int64",
    "served_colonies": "int64",
    "volume_l": "float64",
}
WARNINGS = {"code": "str", "place_id": "str", "truck_id": "str", "text": "str"}


def stops(operation: Operation, plan: Plan) -> pd.DataFrame:
    """Every stop of a plan, in order of truck and time. The leg of a row is the drive that ends there."""
    rows = (
        (plan.date, route.truck_id, *_stop(operation, stop)) for route in plan.routes for stop in route.stops
    )
    return frame_of(rows, STOPS, plan.timezone)


def _stop(operation: Operation, stop: Stop) -> tuple[object, ...]:
    leg = stop.leg
    return (
        stop.seq, stop.kind, stop.place_id, place_name(operation, stop), stop.lat, stop.lon,
        stop.arrive, stop.begin, stop.leave, leg.distance_m, leg.drive_s, leg.climb_m,
        round((stop.begin - stop.arrive).total_seconds()), round((stop.leave - stop.begin).total_seconds()),
        sum(pour.colonies for pour in stop.pour), sum(pour.volume_l for pour in stop.pour),
        sum(fill.volume_l for fill in stop.fill), sum(pour.pails for pour in stop.pour),
        sum(fill.pails for fill in stop.fill), stop.after.gross_kg, leg.fuel_l, "; ".join(stop.notes),
    )  # fmt: skip


def pours(plan: Plan) -> pd.DataFrame:
    """What each group of colonies is given: a row a stop, group, feeder, syrup and tank."""
    rows = (
        (
            plan.date, route.truck_id, stop.seq, stop.place_id, pour.group, pour.feeder_id, pour.syrup_id,
            pour.colonies, pour.volume_l, pour.tank_id or "", pour.pails, stop.begin,
        )
        for route in plan.routes
        for stop in route.stops
        for pour in stop.pour
    )  # fmt: skip
    return frame_of(rows, POURS, plan.timezone)


def fills(plan: Plan) -> pd.DataFrame:
    """What is taken aboard: a row a stop, syrup and tank (no tank: full pails)."""
    rows = (
        (
            plan.date, route.truck_id, stop.seq, stop.place_id, fill.syrup_id, fill.volume_l,
            fill.tank_id or "", fill.pails, stop.begin,
        )
        for route in plan.routes
        for stop in route.stops
        for fill in stop.fill
    )  # fmt: skip
    return frame_of(rows, FILLS, plan.timezone)


def unserved(operation: Operation, plan: Plan) -> pd.DataFrame:
    """Yards that get nothing or only a part, with reason and remedy; ``due``: they go without."""
    rows = (
        (
            left.yard_id,
            operation.yards[left.yard_id].name if left.yard_id in operation.yards else left.yard_id,
            left.unfed, left.starving, left.days_of_stores, left.colonies, left.volume_l,
            left.reason_code, left.reason, left.remedy,
        )
        for left in plan.unserved
    )  # fmt: skip
    return frame_of(rows, UNSERVED)


def totals(plan: Plan) -> pd.DataFrame:
    """Sums by truck; ``cost`` in the currency of the operation."""
    rows = (
        (
            route.truck_id, route.start, route.end, t.distance_m, t.drive_s, t.work_s, t.wait_s, t.break_s,
            t.overtime_s, t.fuel_l, t.co2_kg, t.cost.total, t.served_yards, t.served_colonies, t.volume_l,
        )
        for route in plan.routes
        for t in (route.totals,)
    )  # fmt: skip
    return frame_of(rows, TOTALS, plan.timezone)


def warnings(plan: Plan) -> pd.DataFrame:
    """The cautions that go with a plan."""
    rows = ((w.code, w.place_id or "", w.truck_id or "", w.text) for w in plan.warnings)
    return frame_of(rows, WARNINGS)
