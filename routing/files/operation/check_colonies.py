"""Check inspections: one way of judging stores, dates in order, and which of them count."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta

from routing.files.problems.problems import Problems
from routing.files.settings.values import Settings
from routing.files.tables.records import Record, Records

WAYS = ("stores_kg", "honey_frames", "gross_kg")
ONE_WAY = "judge by stores, or by honey_frames with frame, or by gross with tare"


def check_stores(colonies: Records, problems: Problems) -> None:
    """Every row with colonies judges stores in exactly one way, completely."""
    headers = {field for field in WAYS if colonies.rows and field in colonies.rows[0].places}
    if colonies.rows and not headers:
        labels = [colonies.table.column(field).label for field in WAYS]
        problems.add(
            "missing_column",
            colonies.file,
            1,
            labels[0],
            "",
            f"no column judges the stores: {' or '.join(labels)}",
            ONE_WAY,
        )
    for record in colonies:
        record.whole = record.whole and bool(headers)
        if headers and not any(_unreadable(record, field) for field in (*WAYS, "frame", "tare_kg")):
            _check_row(colonies, record, problems)


def _unreadable(record: Record, field: str) -> bool:
    return record.get(field) is None and bool(record.typed(field)[1])


def _check_row(colonies: Records, record: Record, problems: Problems) -> None:
    ways = [field for field in WAYS if record.get(field) is not None]
    if not ways and record.get("colonies") != 0:
        colonies.complain(problems, "stores_no_way", record, WAYS[0], "stores are not judged", ONE_WAY)
    elif len(ways) > 1:
        colonies.complain(
            problems,
            "stores_two_ways",
            record,
            ways[1],
            f"stores are judged in {len(ways)} ways at once",
            "keep one of them",
        )
    elif ways == ["honey_frames"] and record.get("frame") is None:
        colonies.complain(
            problems,
            "frames_without_size",
            record,
            "frame",
            "frames of honey need the size of frame",
            "write deep or medium",
        )
    elif ways == ["gross_kg"]:
        _check_scale(colonies, record, problems)


def _check_scale(colonies: Records, record: Record, problems: Problems) -> None:
    gross, tare = record.get("gross_kg"), record.get("tare_kg")
    if tare is None:
        colonies.complain(
            problems,
            "gross_without_tare",
            record,
            "tare_kg",
            "a gross weight needs a tare",
            "write what hive, bees, comb and brood weigh without honey",
        )
    elif tare > gross:
        colonies.complain(
            problems,
            "tare_above_gross",
            record,
            "tare_kg",
            "the tare is above the gross weight",
            "check both weights and their units",
        )


def newest(colonies: Records) -> dict[str, list[Record]]:
    """The rows of the newest date of each yard, in the order of the file."""
    last: dict[str, date] = {}
    for record in colonies:
        yard, day = record.get("yard_id"), record.get("date")
        if yard is not None and day is not None and day >= last.get(yard, day):
            last[yard] = day
    found: dict[str, list[Record]] = {yard: [] for yard in last}
    for record in colonies:
        yard = record.get("yard_id")
        if yard in found and record.get("date") == last[yard]:
            found[yard].append(record)
    return {yard: rows for yard, rows in found.items() if rows}


def check_age(
    colonies: Records,
    rows_of: Mapping[str, list[Record]],
    settings: Settings,
    day: date | None,
    problems: Problems,
) -> None:
    """No inspection after the feeding day, none too old. Without a day the newest one is the measure."""
    dated = [record.get("date") for record in colonies if record.get("date")]
    if not dated:
        return
    reference = day or max(dated)
    for record in colonies:
        if record.get("date") and record.get("date") > reference:
            colonies.complain(
                problems,
                "inspection_after_day",
                record,
                "date",
                f"dates in the wrong order: inspected after the feeding day {reference}",
                "correct the date, or plan a later day",
            )
    oldest = reference - timedelta(days=settings.groups["feeding"].stale_days)
    for rows in rows_of.values():
        live = next((record for record in rows if record.get("colonies")), None)
        if live and live.get("date") < oldest:
            colonies.complain(
                problems,
                "stale_inspection",
                live,
                "date",
                f"inspected {(reference - live.get('date')).days} days before {reference}",
                "inspect the yard again, or raise feeding.stale_days",
            )


def name_groups(colonies: Records, rows_of: Mapping[str, list[Record]], problems: Problems) -> None:
    """Give every group of a yard a name of its own, and question rows that look pasted twice."""
    for rows in rows_of.values():
        cells: dict[tuple[str, ...], int] = {}
        names: dict[str, int] = {}
        for record in rows:
            typed = record.get("group")
            if typed in names and typed:
                colonies.complain(
                    problems,
                    "doubled_group",
                    record,
                    "group",
                    f"row {names[typed]} has the same group of this yard and date",
                    "give each row its own group, or remove one",
                )
            elif tuple(record.cells) in cells:
                colonies.complain(
                    problems,
                    "same_row_twice",
                    record,
                    "yard_id",
                    f"the same as row {cells[tuple(record.cells)]}; both are counted",
                    "remove one if it was pasted twice",
                    "warning",
                )
            names.setdefault(typed or "", record.row)
            cells.setdefault(tuple(record.cells), record.row)
        _number(rows, set(names))


def _number(rows: list[Record], taken: set[str]) -> None:
    """Name the groups that were given no name: the only one of a yard is all of it."""
    if len(rows) == 1 and not rows[0].get("group"):
        rows[0].values["group"] = "all"
        return
    count = 0
    for record in rows:
        if not record.get("group"):
            count += 1
            while str(count) in taken:
                count += 1
            record.values["group"] = str(count)


def check_inspected(yards: Records, colonies: Records, problems: Problems) -> None:
    """Question yards that have no row in colonies."""
    if not colonies.sound or not colonies.rows:
        return
    inspected = {record.get("yard_id") for record in colonies}
    for record in yards:
        if record.get("yard_id") is not None and record.get("yard_id") not in inspected:
            yards.complain(
                problems,
                "yard_without_inspection",
                record,
                "yard_id",
                "the yard has no row in colonies and cannot be planned",
                "inspect it, or write 0 colonies",
                "warning",
            )
