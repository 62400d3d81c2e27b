"""Days on which clocks change, the leap day, a clock set back: planned, noted, planned anew."""

from __future__ import annotations

import json
from datetime import date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from routing.app.workflow.device import device_time
from routing.files.log.log import DayLog, log_path
from routing.files.plan.plan_json import load_plan
from routing.log.facts import Fed
from tests.app.test_note import DAY, Phone, phone, planned
from tests.support.face import QUICK, feedround
from tests.support.folders import TOML_US, us_tables, write_folder

__all__ = ["phone", "planned"]

FORWARD, BACK, LEAP = "2026-03-08", "2026-11-01", "2028-02-29"
"""Sundays on which clocks change in the United States (15 U.S.C. 260a), and a leap day."""

NIGHT = TOML_US.replace('start = "06:00"\nend = "20:00"', 'start = "21:00"\nend = "07:00"')


def _farm(folder: Path, day: str, toml: str) -> Path:
    tables = us_tables()
    for row in tables["colonies"]:
        row["date"] = (date.fromisoformat(day) - timedelta(days=3)).isoformat()
    for name in ("yards", "depots"):
        for row in tables[name]:
            row.pop("windows", None)
    return write_folder(folder, tables, toml)


@pytest.mark.parametrize("toml", [TOML_US, NIGHT], ids=["by day", "by night"])
@pytest.mark.parametrize(
    ("day", "before"),
    [(FORWARD, 0), (FORWARD, 1), (BACK, 0), (BACK, 1), (LEAP, 0), (LEAP, 1)],
    ids=["forward", "eve of forward", "back", "eve of back", "leap day", "eve of leap day"],
)
def test_an_odd_day_is_planned_noted_and_planned_anew(
    tmp_path: Path, day: str, before: int, toml: str
) -> None:
    start = (date.fromisoformat(day) - timedelta(days=before)).isoformat()
    folder, out = _farm(tmp_path / "farm", start, toml), tmp_path / "out"
    ran = feedround("plan", folder, "--date", start, "--out", out, *QUICK)
    assert ran.code in (0, 1), ran.err
    made = load_plan(out / "plan.json")
    assert feedround("audit", folder, out / "plan.json").code == 0
    assert feedround("note", folder, "planned", out / "plan.json").code == 0
    visits = [(route, stop) for route in made.routes for stop in route.stops if stop.kind == "yard"]
    assert visits, "nothing is driven: the day says nothing"
    route, stop = visits[0]
    local = stop.leave.astimezone(ZoneInfo(made.timezone))
    noted = feedround(
        "note", folder, "fed", stop.place_id, "-t", route.truck_id, "-a", f"{local:%H:%M}", "--date", start
    )
    assert noted.code == 0, noted.err
    with DayLog(log_path(folder)) as log:
        fed = next(event for event in log.events() if isinstance(event.fact, Fed))
    # Only in the hour that comes twice does a wall clock not say which moment is meant.
    assert abs((fed.at - stop.leave).total_seconds()) < 60 or (local.hour, day) == (1, BACK)
    now = (local + timedelta(minutes=1)).strftime("%H:%M")
    again = feedround("replan", folder, "--date", start, "--now", now, "--out", tmp_path / "rest", *QUICK)
    assert again.code in (0, 1), again.err
    assert feedround("audit", folder, tmp_path / "rest" / "plan.json").code == 0
    told = json.loads((tmp_path / "rest" / "plan.json").read_text(encoding="utf-8"))
    assert told["date"] == start


def test_notes_of_a_device_whose_clock_is_set_back_are_all_kept_in_order(phone: Phone) -> None:
    noon = datetime.fromisoformat(f"{DAY}T17:00:00+00:00")
    for hours, yard in ((0, "elm"), (-3, "oak"), (-26, "ash"), (1, "elm")):
        with device_time(noon + timedelta(hours=hours)):
            phone.type(
                "note", str(phone.folder), "skipped", yard, "other", f"at {hours}", "-t", "T1", "--date", DAY,
                "-a", "11:00",
            )  # fmt: skip
    with DayLog(log_path(phone.folder)) as log:
        words = [event.fact.words for event in log.events() if event.kind == "skipped"]
    assert words == ["at 0", "at -3", "at -26", "at 1"]
    with device_time(noon - timedelta(hours=3)):
        told = phone.type("status", str(phone.folder), "--date", DAY, "--now", "12:00")
    assert "5 events" in told.splitlines()[0]
