"""Write the stops of a plan as a table to fill in on the road, and read it back."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from routing.domain.operation import Operation
from routing.domain.plan import Plan, Route, Stop
from routing.files.columns.column import Column, Table, ident, number, text, whole
from routing.files.columns.unit_family import plain, volume
from routing.files.problems.problems import Problems, suggest
from routing.files.tables.records import Record
from routing.files.tables.row_reader import read_records
from routing.files.tables.tables import read_csv
from routing.log.facts import SkipReason

KINDS = ("start", "yard", "refill", "wash", "break", "end")
_MOST_L = 100_000

SHEET = Table(
    "run_sheet",
    "a filled-in run sheet: one row for each group fed, tank filled, or other stop",
    ("truck_id", "stop"),
    (
        ident("truck_id", "the truck", "trucks"),
        whole("stop", "stop", "number of the stop in the plan", 0, 1000, required=True),
        Column("stop_kind", plain("kind"), "choice", "what the stop is for", True, choices=KINDS),
        ident("place_id", "yard or depot"),
        ident("group", "group of colonies fed", required=False),
        ident("syrup_id", "syrup poured or filled", "syrups", False),
        ident("tank_id", "tank it came from or went into; empty: pails", required=False),
        Column("arrive_s", plain("arrive"), "time", "time of arrival, local"),
        Column("leave_s", plain("leave"), "time", "time when done, local"),
        whole("colonies", "colonies", "colonies fed", 0, 100_000),
        number("volume_l", volume("amount"), "syrup poured or filled", 0, _MOST_L),
        whole("pails", "pails", "full pails given or loaded", 0, 10_000),
        whole("alive", "alive", "colonies found alive in the group", 0, 100_000),
        whole("light", "light", "colonies found light in the group", 0, 100_000),
        text("lot", "lot of the syrup"),
        number("meter_start_l", volume("meter_start"), "meter before", 0, 1e9),
        number("meter_end_l", volume("meter_end"), "meter after", 0, 1e9),
        Column(
            "skipped", plain("skipped"), "choice", "why it was left unfed",
            choices=tuple(reason.value for reason in SkipReason),
        ),
        text("words", "anything to add"),
    ),
)  # fmt: skip

_FILLED_IN = (
    "arrive_s", "leave_s", "colonies", "volume_l", "alive", "light", "meter_start_l", "meter_end_l",
    "skipped",
)  # fmt: skip
_HINTS = ("date", "place_name", "planned_arrive", "planned_leave", "planned_colonies")


@dataclass
class SheetStop:
    """All rows of one stop of one truck, with something filled in."""

    truck_id: str
    stop: int
    kind: str
    place_id: str
    rows: list[Record] = field(default_factory=list)

    def first(self, name: str) -> Any:
        """The first value of a field among the rows, or None."""
        return next((row.get(name) for row in self.rows if row.get(name) not in (None, "")), None)

    @property
    def row(self) -> int:
        """The line of its first row."""
        return self.rows[0].row


def sheet_csv(operation: Operation, plan: Plan) -> str:
    """The table to fill in: the plan's stops, with blanks for what will have happened."""
    unit = "gal" if operation.units == "us" else "l"
    factor = volume("x")[0].unit.factor if unit == "gal" else 1.0
    headers = [_header(column, unit) for column in SHEET.columns]
    out = io.StringIO()
    planned = f"planned_{unit}"
    writer = csv.DictWriter(out, [*headers[:7], *_HINTS, planned, *headers[7:]], lineterminator="\n")
    writer.writeheader()
    for route in plan.routes:
        for stop in route.stops:
            writer.writerows(_blank_rows(operation, plan, route, stop, planned, factor))
    return out.getvalue()


def _header(column: Column, unit: str) -> str:
    """The header of a column in the operation's own unit."""
    wanted = [h for h in column.headers if h.endswith(f"_{unit}")]
    return (wanted or list(column.headers))[0]


def _blank_rows(
    operation: Operation, plan: Plan, route: Route, stop: Stop, planned: str, factor: float
) -> Iterator[dict[str, Any]]:
    places: dict[str, Any] = {**operation.yards, **operation.depots}
    clock = operation.clock(plan.date)
    row = {
        "truck_id": route.truck_id,
        "stop": stop.seq,
        "kind": stop.kind,
        "place_id": stop.place_id,
        "date": plan.date.isoformat(),
        "place_name": places[stop.place_id].name if stop.place_id in places else "",
        "planned_arrive": f"{clock.at(clock.seconds(stop.arrive)):%H:%M}",
        "planned_leave": f"{clock.at(clock.seconds(stop.leave)):%H:%M}",
    }
    for pour in stop.pour:
        yield row | {
            "group": pour.group,
            "syrup_id": pour.syrup_id,
            "tank_id": pour.tank_id or "",
            "planned_colonies": pour.colonies,
            planned: round(pour.volume_l / factor, 2),
        }
    for fill in stop.fill:
        yield row | {
            "syrup_id": fill.syrup_id,
            "tank_id": fill.tank_id or "",
            planned: round(fill.volume_l / factor, 2),
        }
    if not stop.pour and not stop.fill:
        yield row


def read_sheet(path: Path, operation: Operation) -> tuple[SheetStop, ...]:
    """The stops of a filled-in sheet, in its order; rows with nothing filled in are passed over.

    Raises InputError with every problem found.
    """
    problems = Problems()
    sheet = read_csv(path, problems)
    extra = (*_HINTS, "planned_gal", "planned_l")
    kept = [i for i, header in enumerate(sheet.headers) if header not in extra]
    sheet.headers = [sheet.headers[i] for i in kept]
    sheet.rows = [(row, [cells[i] for i in kept if i < len(cells)]) for row, cells in sheet.rows]
    records = read_records(SHEET, sheet, problems)
    stops: dict[tuple[str, int], SheetStop] = {}
    for record in records:
        if not record.whole or not any(record.get(name) is not None for name in _FILLED_IN):
            continue
        _check(record, operation, sheet.file, problems)
        key = (record.get("truck_id"), record.get("stop"))
        stop = stops.setdefault(key, SheetStop(*key, record.get("stop_kind"), record.get("place_id")))
        if (stop.kind, stop.place_id) != (record.get("stop_kind"), record.get("place_id")):
            _complain(
                problems, sheet.file, record, "place_id", "the rows of one stop name different places",
                f"stop {stop.stop} of {stop.truck_id} is {stop.kind} {stop.place_id} in row {stop.row}",
            )  # fmt: skip
        stop.rows.append(record)
    problems.raise_errors()
    return tuple(stops.values())


def _complain(
    problems: Problems, file: str, record: Record, name: str, wrong: str, remedy: str, code: str = "refused"
) -> None:
    header, typed = record.typed(name)
    problems.add(code, file, record.row, header, typed, wrong, remedy)


def _check(record: Record, operation: Operation, file: str, problems: Problems) -> None:
    """That ids are known, and that a row says all it must."""
    kind, truck_id, place_id = record.get("stop_kind"), record.get("truck_id"), record.get("place_id")
    yard = kind == "yard" or (kind == "break" and place_id in operation.yards)
    places: list[str] = list(operation.yards if yard else operation.depots)
    truck = operation.trucks.get(truck_id)
    known = (
        ("truck_id", "unknown_truck", list(operation.trucks), "trucks"),
        ("place_id", "unknown_yard" if yard else "unknown_depot", places, "yards" if yard else "depots"),
        ("syrup_id", "unknown_syrup", list(operation.syrups), "syrups"),
        ("tank_id", "refused", [t.tank_id for t in truck.tanks] if truck else [], "tanks"),
    )
    for name, code, ids, words in known:
        value = record.get(name)
        if value and ids and value not in ids:
            remedy = suggest(value, ids, words)
            _complain(problems, file, record, name, f"not among the {words}", remedy, code)
    lacking = ""
    if kind == "yard" and not record.get("skipped"):
        lacking = next((n for n in ("colonies", "volume_l") if record.get(n) is None), "")
    elif kind in ("start", "refill") and record.get("volume_l") is not None and not record.get("syrup_id"):
        lacking = "syrup_id"
    elif kind == "break" and (record.get("arrive_s") is None or record.get("leave_s") is None):
        lacking = "leave_s"
    if lacking:
        meaning = SHEET.column(lacking).meaning
        remedy = f"fill in: {meaning}" + ("; or the reason under skipped" if kind == "yard" else "")
        _complain(problems, file, record, lacking, "the cell is empty", remedy, "missing_value")
    if record.get("leave_s") is None and record.get("arrive_s") is None:
        remedy = "fill in leave (or arrive), local HH:MM"
        _complain(problems, file, record, "leave_s", "the row says no time", remedy, "missing_value")
