"""Write everything that leaves a plan: plan.json, map, run sheets, hand-off files."""

from __future__ import annotations

import os
from collections.abc import Container
from pathlib import Path

from routing.app.workflow.workflow import Planned
from routing.domain.errors import FeedroundError
from routing.files.plan.plan_json import dump_plan
from routing.files.writing.atomic import write_atomic
from routing.reports.export.exports import geojson_text, gpx, stops_csv, workbook
from routing.reports.map.html import map_html
from routing.reports.map.tiles import TileServer
from routing.reports.printing.run_sheet import run_sheet_html, run_sheet_pdf


def default_folder(folder: Path, day_text: str) -> Path:
    """Where a plan lands when nobody says: ``maps/<operation folder>-<date>``."""
    return Path("maps") / f"{folder.resolve().stem}-{day_text}"


def require_writable(out: Path) -> None:
    """Raise FeedroundError, before any work is done, where a folder could surely not be written."""
    folder = out
    while not os.path.lexists(folder) and folder != folder.parent:
        folder = folder.parent
    if not folder.is_dir():
        raise FeedroundError(f"{out}: {folder} is a file, not a folder: choose another --out")
    if not os.access(folder, os.W_OK | os.X_OK):
        raise FeedroundError(f"{out}: you may not write there: choose another --out")


def write_outputs(planned: Planned, out: Path, tiles: TileServer | None = None) -> dict[str, Path]:
    """Write all files of a plan into a folder; each is whole or not there. Paths by what they are.

    Everything is made before the first file is written. Run sheets of an earlier plan in the same folder
    are taken away, lest a crew drives by one. Raises FeedroundError when the folder cannot be written.
    """
    operation, plan = planned.needed.gathered.operation, planned.plan
    needs = {need.yard_id: need for need in planned.needed.needs}
    paper = "letter" if operation.units == "us" else "a4"
    content: dict[str, str | bytes] = {
        "plan.json": dump_plan(plan),
        "map.html": map_html(operation, plan, planned.travel, tiles),
        "stops.csv": stops_csv(operation, plan),
        "stops.xlsx": workbook(operation, plan),
        "plan.geojson": geojson_text(operation, plan),
        "plan.gpx": gpx(operation, plan),
        **run_sheet_html(operation, plan, needs),
        **run_sheet_pdf(operation, plan, needs, paper=paper),
    }
    try:
        out.mkdir(parents=True, exist_ok=True)
        for name, data in content.items():
            write_atomic(out / name, data)
        _remove_old_sheets(out, content)
    except OSError as error:
        raise FeedroundError(f"{out}: cannot write there ({error.strerror}): choose another --out") from error
    return {name: out / name for name in content}


def _remove_old_sheets(out: Path, kept: Container[str]) -> None:
    for old in out.glob("run_sheet_*"):
        if old.suffix in (".html", ".pdf") and old.is_file() and old.name not in kept:
            old.unlink()
