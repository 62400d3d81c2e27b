"""Write small OpenStreetMap files for tests, from points on a grid and the ways between them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from xml.sax.saxutils import quoteattr

LAT, LON = 46.80, -100.80
STEP_DEGREES = 0.01
"""One step on the grid: 1,112 m to the north, 762 m to the east at this latitude."""

Grid = tuple[float, float]


def spot(at: Grid) -> tuple[float, float]:
    """(lat, lon) of a point (steps east, steps north)."""
    return round(LAT + at[1] * STEP_DEGREES, 7), round(LON + at[0] * STEP_DEGREES, 7)


def write_osm(
    path: Path,
    points: Mapping[str, Grid],
    ways: Sequence[tuple[str, Mapping[str, str]]],
    *,
    tags: Mapping[str, Mapping[str, str]] | None = None,
    no_turns: Sequence[tuple[int, str | tuple[int, ...], int, str]] = (),
    restriction: str = "restriction",
) -> Path:
    """Points by letter; ways as letters with their tags ("abc", {"highway": "track"}).

    ``no_turns``: from the way of a number, by a point or ways by number, into the way of a number, the
    restriction's name, which is the value of the key ``restriction``.
    """
    number = {name: i for i, name in enumerate(points, start=1)}
    lines = ['<?xml version="1.0" encoding="UTF-8"?>', '<osm version="0.6">']
    for name, at in points.items():
        lat, lon = spot(at)
        inner = _tags((tags or {}).get(name, {}))
        lines.append(f'<node id="{number[name]}" version="1" lat="{lat}" lon="{lon}">{inner}</node>')
    for i, (letters, way_tags) in enumerate(ways, start=1):
        refs = "".join(f'<nd ref="{number[name]}"/>' for name in letters)
        lines.append(f'<way id="{i}" version="1">{refs}{_tags(way_tags)}</way>')
    for i, (start, via, end, kind) in enumerate(no_turns, start=1):
        over = [("node", number[via])] if isinstance(via, str) else [("way", k + 1) for k in via]
        parts = [
            ("way", start + 1, "from"),
            *((kind_, ref, "via") for kind_, ref in over),
            ("way", end + 1, "to"),
        ]
        members = "".join(f'<member type="{what}" ref="{ref}" role="{role}"/>' for what, ref, role in parts)
        inner = _tags({"type": "restriction", restriction: kind})
        lines.append(f'<relation id="{i}" version="1">{members}{inner}</relation>')
    path.write_text("\n".join([*lines, "</osm>"]), encoding="utf-8")
    return path


def _tags(tags: Mapping[str, str]) -> str:
    return "".join(f"<tag k={quoteattr(key)} v={quoteattr(value)}/>" for key, value in tags.items())
