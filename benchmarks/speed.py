"""Time what people wait for besides the search: reading, distances, sheets, map.

``python -m benchmarks.speed`` prints seconds of wall time, once each.
"""

from __future__ import annotations

import csv
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from benchmarks.feeding.days import DEMO
from benchmarks.feeding.invent import invent_operation
from routing.files.operation.folder import read_operation
from routing.reports.map.html import map_html
from routing.reports.printing.run_sheet import run_sheet_pdf
from routing.travel.straight.straight import straight_travel
from tests.support.builders import big_plan


def main() -> None:
    """Measure and print."""
    case = big_plan(300)
    with tempfile.TemporaryDirectory() as folder:
        wide = _ten_thousand_rows(Path(folder))
        rows: list[tuple[str, Callable[[], object]]] = [
            ("read 10,000 rows of CSV", lambda: read_operation(wide)),
            ("distances between 2,000 yards", lambda: straight_travel(invent_operation(1, 2000))),
            ("map of 300 yards", lambda: map_html(case.operation, case.plan, case.travel)),
            ("run sheets of 300 yards (PDF)", lambda: run_sheet_pdf(case.operation, case.plan)),
        ]
        for name, work in rows:
            begun = time.perf_counter()
            work()
            print(f"{name:<36}{time.perf_counter() - begun:8.2f} s")


def _ten_thousand_rows(folder: Path) -> Path:
    """The demo with its yards and inspections repeated under new ids until there are 10,000 rows."""
    for file in DEMO.iterdir():
        if file.suffix in (".csv", ".toml"):
            (folder / file.name).write_bytes(file.read_bytes())
    yards, groups = _rows(DEMO / "yards.csv"), _rows(DEMO / "colonies.csv")
    times = 10_000 // (len(yards) + len(groups)) + 1
    for name, rows in (("yards.csv", yards), ("colonies.csv", groups)):
        with (folder / name).open("w", newline="", encoding="utf-8") as file:
            writer = csv.DictWriter(file, fieldnames=list(rows[0]))
            writer.writeheader()
            for i in range(times):
                writer.writerows({**row, "yard_id": f"{row['yard_id']}_{i}"} for row in rows)
    return folder


def _rows(path: Path) -> list[dict[str, str]]:
    with path.open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


if __name__ == "__main__":
    main()
