"""Check dates and opening hours of places against each other and against the shifts."""

from __future__ import annotations

from collections.abc import Mapping

from routing.domain.clock import TimeWindow
from routing.domain.units import DAY_S
from routing.files.problems.problems import Problems
from routing.files.settings.values import Settings
from routing.files.tables.records import Record, Records
from routing.files.tables.spelling import Bad
from routing.files.tables.values import window


def overlap(a: TimeWindow, b: TimeWindow) -> bool:
    """Whether two windows, each of which comes every day, share more than an instant."""
    return any(a.start_s + k < b.end_s and b.start_s < a.end_s + k for k in (-DAY_S, 0, DAY_S))


def clock_text(window_: TimeWindow) -> str:
    """A window as typed."""
    start, end = (f"{s // 3600 % 24:02d}:{s % 3600 // 60:02d}" for s in (window_.start_s, window_.end_s))
    return f"{start}-{end}"


def truck_shifts(trucks: Records, settings: Settings, problems: Problems) -> dict[str, TimeWindow]:
    """The shift of every truck: its own start and end, else the operation's."""
    usual: TimeWindow = settings.groups["shift"].window
    shifts: dict[str, TimeWindow] = {}
    for record in trucks:
        start_s, end_s = record.get("start_s"), record.get("end_s")
        try:
            shifts[record.get("truck_id")] = window(
                usual.start_s if start_s is None else start_s, usual.end_s if end_s is None else end_s
            )
        except Bad as bad:
            trucks.complain(problems, bad.code, record, "start_s", bad.wrong, bad.remedy)
    return shifts


def check_dates(yards: Records, problems: Problems) -> None:
    """The first date of a yard is not after its last."""
    for record in yards:
        first, last = record.get("from_date"), record.get("until_date")
        if first and last and first > last:
            yards.complain(
                problems,
                "dates_reversed",
                record,
                "from_date",
                f"from_date lies after until_date {last}",
                "exchange the two dates",
            )


def check_windows(
    tables: Mapping[str, Records], shifts: Mapping[str, TimeWindow], problems: Problems
) -> None:
    """Hours of yards and depots touch the shift of a truck that may come."""
    for record in tables["yards"]:
        allowed = record.get("trucks") or tuple(shifts)
        _check_place(tables["yards"], record, [shifts[t] for t in allowed if t in shifts], problems)
    for record in tables["depots"]:
        _check_place(tables["depots"], record, list(shifts.values()), problems)


def _check_place(records: Records, record: Record, shifts: list[TimeWindow], problems: Problems) -> None:
    windows = record.get("windows") or ()
    outside = [w for w in windows if shifts and not any(overlap(w, shift) for shift in shifts)]
    if not outside:
        return
    named = ";".join(clock_text(w) for w in outside)
    when = ", ".join(dict.fromkeys(clock_text(s) for s in shifts))
    records.complain(
        problems,
        "window_outside_shift",
        record,
        "windows",
        f"{named} lies outside the shift {when}",
        "change the window, or start and end of the shift",
        "error" if len(outside) == len(windows) else "warning",
    )
