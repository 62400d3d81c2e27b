"""Every stop of a plan as one flat row of named columns, for CSV and workbook."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from zoneinfo import ZoneInfo

from routing.domain.operation import Operation
from routing.domain.plan import Plan, Pour, Route, Stop
from routing.reports.words.format import Units
from routing.reports.words.marks import stop_marks
from routing.reports.words.names import place_name
from routing.reports.words.text import clean

Cell = str | int | float | datetime | None
Row = dict[str, Cell]

FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n")
"""What a spreadsheet takes for the beginning of a formula."""


def stop_rows(operation: Operation, plan: Plan, route: Route) -> list[Row]:
    """The stops of one route. Column names end in their unit; litres and kilograms stand beside the
    operation's own units, so that a file can be joined with others whatever it was written in."""
    units = Units(operation.units, operation.currency)
    marks = stop_marks(route)
    return [_row(operation, plan, route, stop, marks, units) for stop in route.stops]


def _row(
    operation: Operation, plan: Plan, route: Route, stop: Stop, marks: Mapping[int, str], units: Units
) -> Row:
    yard = operation.yards.get(stop.place_id) if stop.kind == "yard" else None
    row: Row = {
        "plan_id": plan.plan_id,
        "replaces_plan": plan.replaces,
        "date": plan.date.isoformat(),
        "truck_id": route.truck_id,
        "seq": stop.seq,
        "mark": marks[stop.seq],
        "kind": stop.kind,
        "place_id": stop.place_id,
        "place_name": clean(place_name(operation, stop)),
        "registration_id": clean(yard.registration_id) if yard else "",
        "health": yard.health.value if yard else "",
        "lat_deg": round(stop.lat, 6),
        "lon_deg": round(stop.lon, 6),
        "arrive_local": local(stop.arrive, plan.timezone),
        "begin_local": local(stop.begin, plan.timezone),
        "leave_local": local(stop.leave, plan.timezone),
    }
    return row | _quantities(stop, units) | {"notes": clean("; ".join(stop.notes))}


def _quantities(stop: Stop, units: Units) -> Row:
    volume, mass, road = units.volume_unit.lower(), units.mass_unit, units.distance_unit
    poured_l = sum(pour.volume_l for pour in stop.pour)
    filled_l = sum(fill.volume_l for fill in stop.fill)
    own: Row = {
        f"distance_{road}": round(units.distance_value(stop.leg.distance_m), 2),
        "drive_min": round(stop.leg.drive_s / 60, 1),
        "wait_min": round((stop.begin - stop.arrive).total_seconds() / 60, 1),
        "service_min": round((stop.leave - stop.begin).total_seconds() / 60, 1),
        "colonies": sum(pour.colonies for pour in stop.pour),
        f"poured_{volume}": round(units.volume_value(poured_l), 2),
        f"filled_{volume}": round(units.volume_value(filled_l), 2),
        "pails_given": sum(pour.pails for pour in stop.pour),
        "pails_loaded": sum(fill.pails for fill in stop.fill),
        "pour": clean("; ".join(_pour_text(pour, units) for pour in stop.pour)),
        "tanks_after": clean(_tanks_text(stop, units)),
        "pails_full_after": stop.after.pails_full,
        "pails_empty_after": stop.after.pails_empty,
        f"gross_after_{mass}": round(units.mass_value(stop.after.gross_kg), 1),
        f"fuel_{volume}": round(units.volume_value(stop.leg.fuel_l), 3),
    }
    fixed: Row = {
        "distance_m": stop.leg.distance_m,
        "poured_l": round(poured_l, 3),
        "filled_l": round(filled_l, 3),
        "gross_after_kg": round(stop.after.gross_kg, 1),
        "fuel_l": round(stop.leg.fuel_l, 4),
        "climb_m": stop.leg.climb_m,
    }
    return own | fixed


def _pour_text(pour: Pour, units: Units) -> str:
    source = f"tank {pour.tank_id}" if pour.tank_id is not None else f"{pour.pails} pails"
    volume = units.volume(pour.volume_l, 2)
    return f"{pour.group}: {pour.colonies} x {pour.feeder_id}, {volume} {pour.syrup_id}, {source}"


def _tanks_text(stop: Stop, units: Units) -> str:
    return "; ".join(
        f"{tank_id}: {units.volume(state.volume_l, 2)} {state.syrup_id or ''}".rstrip()
        for tank_id, state in stop.after.tanks.items()
    )


def unserved_rows(operation: Operation, plan: Plan) -> list[Row]:
    """The yards left out, with reason and remedy."""
    units = Units(operation.units, operation.currency)
    rows: list[Row] = []
    for left in plan.unserved:
        yard = operation.yards.get(left.yard_id)
        rows.append(
            {
                "yard_id": left.yard_id,
                "name": clean(yard.name) if yard else "",
                "due": "yes" if left.unfed else "no",
                "reason_code": left.reason_code,
                "reason": clean(left.reason),
                "remedy": clean(left.remedy),
                "days_of_stores": round(left.days_of_stores, 1),
                "starving": "yes" if left.starving else "no",
                "colonies": left.colonies,
                f"wanted_{units.volume_unit.lower()}": round(units.volume_value(left.volume_l), 2),
                "wanted_l": round(left.volume_l, 3),
            }
        )
    return rows


def local(moment: datetime, timezone: str) -> datetime:
    """A moment on the clock of the operation, with its offset."""
    return moment.astimezone(ZoneInfo(timezone))
