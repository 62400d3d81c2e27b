"""Look into the XML of a worksheet for what a reader of values cannot see.

These are formulas without a stored result, merged cells, and rows and columns far outside any table. Element
names are those of ECMA-376 part 1 (SpreadsheetML).
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from pathlib import Path
from xml.etree.ElementTree import Element, iterparse
from zipfile import ZipFile

from routing.files.tables.tables import Merged

MOST_COLUMNS = 256
_CELL = re.compile(r"\$?([A-Z]{1,3})\$?(\d{1,9})", re.ASCII)


@dataclass
class Scan:
    """What one worksheet holds besides values. ``unstored``: formulas by row and column (from 0)."""

    unstored: dict[int, dict[int, str]] = field(default_factory=dict)
    merged: tuple[Merged, ...] = ()
    last_row: int = 0
    wide: bool = False


def unpacked_bytes(path: Path) -> int:
    """The bytes that all parts of a workbook unpack to, as its directory says; reading stops there."""
    with ZipFile(path) as archive:
        return sum(part.file_size for part in archive.infolist())


def scan_sheet(archive: ZipFile, part: str) -> Scan:
    """Read one worksheet part once, a row at a time."""
    scan, merged = Scan(), []
    with archive.open(part.lstrip("/")) as stream:
        for _, element in iterparse(stream):
            tag = element.tag.rpartition("}")[2]
            if tag == "c":
                _note_cell(element, scan)
            elif tag == "row":
                scan.last_row = max(scan.last_row, int(element.get("r") or 0))
                element.clear()
            elif tag == "mergeCell":
                merged += _area(element.get("ref", ""))
    scan.merged = tuple(merged)
    return scan


def _note_cell(cell: Element, scan: Scan) -> None:
    found = _CELL.fullmatch(cell.get("r", ""))
    if found is None:
        return
    row, column = int(found[2]), _column(found[1])
    scan.wide |= column >= MOST_COLUMNS
    formula, value = (next((e for e in cell if e.tag.endswith(f"}}{tag}")), None) for tag in ("f", "v"))
    # A formula whose result is an empty text says so by its type.
    if formula is not None and not (value is not None and (value.text or cell.get("t") == "str")):
        scan.unstored.setdefault(row, {})[column] = f"={formula.text or ''}"


def _column(letters: str) -> int:
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - ord("A") + 1
    return number - 1


def _area(ref: str) -> list[Merged]:
    ends = [_CELL.fullmatch(end) for end in ref.split(":")]
    if len(ends) != 2 or ends[0] is None or ends[1] is None:
        return []
    return [Merged(ref, int(ends[0][2]), _column(ends[0][1]), _column(ends[1][1]))]
