"""Tell whose map data an extract holds: what it says itself, else OpenStreetMap's."""

from __future__ import annotations

import re
import zlib
from html import unescape
from pathlib import Path

from routing.travel.osm.packed import OPENERS

OSM_ATTRIBUTION = "Road data © OpenStreetMap contributors, Open Database License (ODbL) 1.0"
"""What the licence asks for wherever the data is shown: opendatacommons.org/licenses/odbl, 4.3."""

HEAD = 4096
_COPYRIGHT = re.compile(r"""<osm\b[^>]*?\scopyright\s*=\s*("[^"]*"|'[^']*')""")


def credit_of(path: Path) -> str:
    """Whose data it is: the ``copyright`` of an XML extract where that names somebody else.

    Files in the binary format (.pbf) do not say it.
    """
    if path.name.lower().endswith(".pbf"):
        return OSM_ATTRIBUTION
    found = _COPYRIGHT.search(_head(path))
    said = " ".join(unescape(found.group(1)[1:-1]).split()) if found else ""
    return said if said and "openstreetmap" not in said.lower() else OSM_ATTRIBUTION


def _head(path: Path) -> str:
    """The beginning of a text file, packed or not; nothing where it cannot be read."""
    opened = OPENERS.get(path.suffix.lower(), open)
    try:
        with opened(path, "rb") as file:
            return bytes(file.read(HEAD)).decode("utf-8", "replace")
    except (OSError, EOFError, zlib.error):
        return ""
