"""Write everything that leaves a plan: plan.json, map, run sheets, hand-off files."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

from routing.app.workflow.workflow import Planned
from routing.domain.errors import FeedroundError
from routing.files.plan.plan_json import dump_plan
from routing.files.writing.staged import refuse_foreign, staged
from routing.reports.export.exports import geojson_text, gpx, stops_csv, workbook
from routing.reports.map.html import map_html
from routing.reports.map.tiles import TileServer
from routing.reports.printing.run_sheet import run_sheet_html, run_sheet_pdf


def default_folder(folder: Path, day_text: str) -> Path:
    """Where a plan lands when nobody says: ``maps/<operation folder>-<date>``."""
    return Path("maps") / f"{folder.resolve().stem}-{day_text}"


PURPOSE = "plan"
"""By which the files of an earlier plan are known in a folder."""

NAMES = ("plan.json", "map.html", "stops.csv", "stops.xlsx", "plan.geojson", "plan.gpx")
"""What every plan leaves; its run sheets are named after the trucks."""


def require_writable(out: Path) -> None:
    """Raise FeedroundError, before any work is done, where a plan could surely not be written."""
    folder = out
    while not os.path.lexists(folder) and folder != folder.parent:
        folder = folder.parent
    if not folder.is_dir():
        raise FeedroundError(f"{out}: {folder} is a file, not a folder: choose another --out")
    if not os.access(folder, os.W_OK | os.X_OK):
        raise FeedroundError(f"{out}: no permission to write there: choose another --out")
    refuse_foreign(out, PURPOSE, dict.fromkeys(NAMES, ""))


def write_outputs(
    planned: Planned,
    out: Path,
    tiles: TileServer | None = None,
    first: Callable[[], None] = lambda: None,
) -> dict[str, Path]:
    """Write all files of a plan into a folder, all or none, in place of those of an earlier plan there.

    Parameters
    ----------
    planned : Planned
        The plan, audited.
    out : Path
        The folder; made where it is missing.
    tiles : TileServer, optional
        Map pictures that the map can switch on.
    first : callable, optional
        Called when every file is whole on the disk and before the first is in place: what it raises leaves
        the files of the earlier plan.

    Returns
    -------
    dict
        Where each file is, by its name.

    Raises
    ------
    FeedroundError
        Where a file in the way is not ours or was changed since, or the folder cannot be written.
    """
    content = plan_files(planned, tiles)
    with staged(out, PURPOSE, content) as put:
        first()
        put()
    return {name: out / name for name in content}


def plan_files(planned: Planned, tiles: TileServer | None = None) -> dict[str, str | bytes]:
    """Every file of a plan, by its name; nothing is written."""
    operation, plan = planned.needed.gathered.operation, planned.plan
    needs = {need.yard_id: need for need in planned.needed.needs}
    paper = "letter" if operation.units == "us" else "a4"
    return {
        "plan.json": dump_plan(plan),
        "map.html": map_html(operation, plan, planned.travel, tiles, planned.made_at),
        "stops.csv": stops_csv(operation, plan),
        "stops.xlsx": workbook(operation, plan),
        "plan.geojson": geojson_text(operation, plan),
        "plan.gpx": gpx(operation, plan),
        **run_sheet_html(operation, plan, needs, made_at=planned.made_at),
        **run_sheet_pdf(operation, plan, needs, paper=paper, made_at=planned.made_at),
    }
