"""Refuse a packed extract that unpacks to what no map is: a few kilobytes can hold gigabytes of one text."""

from __future__ import annotations

import bz2
import gzip
import zlib
from collections.abc import Callable
from pathlib import Path
from typing import IO, Any

from routing.domain.errors import FeedroundError

OPENERS: dict[str, Callable[..., IO[Any]]] = {".bz2": bz2.open, ".gz": gzip.open}
LONGEST_ELEMENT = 4 * 2**20
"""Bytes of XML without the end of a tag; OpenStreetMap's own limit of a value is 255 letters."""
CHUNK = 2**20


def check_packed(path: Path) -> None:
    """Raise FeedroundError where packed XML has an element longer than ``LONGEST_ELEMENT``.

    Unpacks the file once, in pieces, and keeps none. A file that cannot be unpacked is left to the reader.
    """
    opened = OPENERS.get(path.suffix.lower())
    if opened is None:
        return
    open_for = 0
    try:
        with opened(path, "rb") as file:
            while piece := bytes(file.read(CHUNK)):
                last = piece.rfind(b">")
                open_for = len(piece) - 1 - last if last >= 0 else open_for + len(piece)
                if open_for > LONGEST_ELEMENT:
                    raise FeedroundError(
                        f"{path}: it holds an element of more than {LONGEST_ELEMENT // 2**20} MiB, which is "
                        "no map: download or cut it again"
                    )
    except (OSError, EOFError, zlib.error):
        return
