"""Read roads, points on them and turn restrictions from an OpenStreetMap extract."""

from __future__ import annotations

from array import array
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import osmium

from routing.domain.errors import FeedroundError
from routing.travel.osm.conditions import is_conditional
from routing.travel.osm.packed import check_packed
from routing.travel.osm.read_share import ReadShare
from routing.travel.osm.roads import NodeTags, RoadTags, node_tags, point_limits, road_tags, with_limits
from routing.travel.osm.turns import KEYS as TURN_KEYS
from routing.travel.osm.turns import Turn, turns_of

ENDINGS = (".osm.pbf", ".pbf", ".osm", ".osm.bz2", ".osm.gz", ".osm.xml")
MOST_BYTES = 3_000_000_000
"""A larger file is a continent: it would take tens of gigabytes of memory for one county."""

POINT_KEYS = ("maxheight", "maxweight", "maxweightrating", "maxwidth", "maxlength", "maxaxleload")
"""Keys that make a point on a road a limit."""

EVERY = 2_000
"""Roads and tagged points between two reports of progress."""

Say = Callable[[str, int, float | None], None]
"""Told the stage, how many roads have been read so far, and the share of the stage that is done, if known."""


def say_nothing(stage: str, roads: int, share: float | None) -> None:
    """For those who wait without a word."""


@dataclass
class RawRoads:
    """Ways as read, end to end: ``start`` has where each begins in ``ref``, ``x`` and ``y``.

    ``x`` and ``y`` are longitude and latitude in 1e-7 degrees. ``facts`` numbers into ``kinds``. ``limits``
    are those posted at points, by id; ids of points that are made up count down from ``beyond``.
    """

    ref: array[int] = field(default_factory=lambda: array("q"))
    x: array[int] = field(default_factory=lambda: array("i"))
    y: array[int] = field(default_factory=lambda: array("i"))
    start: array[int] = field(default_factory=lambda: array("q", [0]))
    way_id: array[int] = field(default_factory=lambda: array("q"))
    facts: array[int] = field(default_factory=lambda: array("i"))
    kinds: dict[RoadTags, int] = field(default_factory=dict)
    nodes: dict[int, NodeTags] = field(default_factory=dict)
    limits: dict[int, dict[str, int]] = field(default_factory=dict)
    turns: list[Turn] = field(default_factory=list)
    skipped: dict[str, int] = field(default_factory=dict)
    strict: dict[str, int] = field(default_factory=dict)
    beyond: int = -(1 << 60)

    def add(self, ref: int, x: int, y: int) -> None:
        """One more point of the road that is being read."""
        self.ref.append(ref)
        self.x.append(x)
        self.y.append(y)

    def skip(self, why: str) -> None:
        """Count something that was left out."""
        self.skipped[why] = self.skipped.get(why, 0) + 1

    def note(self, what: str) -> None:
        """Count something that was taken more strictly than it is meant."""
        self.strict[what] = self.strict.get(what, 0) + 1


def read_extract(path: Path, say: Say = say_nothing) -> RawRoads:
    """The roads of an extract. Raises FeedroundError when it cannot be read or has no roads."""
    _check_file(path)
    check_packed(path)
    roads = RawRoads()
    try:
        _read(path, roads, say)
    except (RuntimeError, ValueError, OSError, osmium.InvalidLocationError) as error:
        raise FeedroundError(
            f"{path}: this is not a whole OpenStreetMap file ({_short(error)}): download or cut it again"
        ) from error
    if len(roads.way_id) == 0:
        if roads.skipped.get("road without position"):
            raise FeedroundError(
                f"{path}: its roads come before its points, or without them: sort the file "
                "(nodes, ways, relations) and keep the points of the ways"
            )
        raise FeedroundError(
            f"{path}: there is no road a truck may use in it: use an extract that covers the yards and "
            "holds the ways tagged highway"
        )
    return roads


def _check_file(path: Path) -> None:
    if not path.is_file():
        raise FeedroundError(f"{path}: there is no such file: name an OpenStreetMap extract")
    if not path.name.lower().endswith(ENDINGS):
        raise FeedroundError(
            f"{path}: an OpenStreetMap extract ends in {', '.join(ENDINGS)}: name one of those"
        )
    size = path.stat().st_size
    if size == 0:
        raise FeedroundError(f"{path}: the file is empty: download or cut it again")
    if size > MOST_BYTES:
        raise FeedroundError(
            f"{path}: {size / 1e9:.1f} GB is more than a county or state: cut the country of the yards out "
            "of it first, with 30 km around"
        )


def _read(path: Path, roads: RawRoads, say: Say) -> None:
    wanted = osmium.filter.KeyFilter("highway", "barrier", "ford", "railway", *POINT_KEYS, *TURN_KEYS)
    items: Any = osmium.FileProcessor(str(path)).with_locations().with_filter(wanted)
    share = ReadShare(path)
    for count, item in enumerate(items):
        if count % EVERY == 0:
            say("reading roads", len(roads.way_id), share.now())
        if item.is_way():
            _way(item, roads)
        elif item.is_node():
            tags = dict(item.tags)
            if (found := node_tags(tags)) is not None:
                roads.nodes[item.id] = found
            if limits := point_limits(tags):
                roads.limits[item.id] = limits
        elif item.is_relation():
            _relation(item, roads)
    say("reading roads", len(roads.way_id), 1.0)


def _way(way: Any, roads: RawRoads) -> None:
    if "highway" not in way.tags:
        return
    tags = dict(way.tags)
    facts = road_tags(tags)
    if facts is None:
        return
    if is_conditional(tags):
        roads.note("road with a rule under a condition, kept at all times")
    number = roads.kinds.setdefault(facts, len(roads.kinds))
    before = first = len(roads.ref)
    for node in way.nodes:
        place = node.location
        if not place.valid():
            # The extract was cut here: the road goes on beyond its edge.
            before = _close(way.id, number, before, roads)
            continue
        at = (node.ref, place.x, place.y)
        if node.ref in roads.limits:
            before = _narrows(way.id, facts, before, at, roads)
        else:
            roads.add(*at)
    if _close(way.id, number, before, roads) == first:
        roads.skip("road without position")


def _narrows(way_id: int, facts: RoadTags, before: int, at: tuple[int, int, int], roads: RawRoads) -> int:
    """Put a piece of road without length, with the limits of a point, into a road. Where the road goes on.

    Whoever comes along the road to the point has to pass it, and whoever begins there.
    """
    ref, x, y = at
    roads.beyond -= 1
    limited = roads.kinds.setdefault(with_limits(facts, roads.limits[ref]), len(roads.kinds))
    begins = len(roads.ref) == before
    if not begins:
        roads.add(roads.beyond, x, y)
        before = _close(way_id, roads.kinds[facts], before, roads)
    for one in (ref, roads.beyond) if begins else (roads.beyond, ref):
        roads.add(one, x, y)
    before = _close(way_id, limited, before, roads)
    roads.add(roads.beyond if begins else ref, x, y)
    return before


def _close(way_id: int, number: int, before: int, roads: RawRoads) -> int:
    """End a road at the last point read; a single point is no road. Where the next one begins."""
    if len(roads.ref) - before >= 2:
        roads.way_id.append(way_id)
        roads.facts.append(number)
        roads.start.append(len(roads.ref))
    else:
        del roads.ref[before:], roads.x[before:], roads.y[before:]
    return len(roads.ref)


def _relation(relation: Any, roads: RawRoads) -> None:
    judged = turns_of(dict(relation.tags), [(m.role, m.type, m.ref) for m in relation.members])
    roads.turns += judged.turns
    if judged.skipped:
        roads.skip(judged.skipped)
    if judged.strict:
        roads.note("turn restriction under a condition, kept at all times")


def _short(error: BaseException) -> str:
    return " ".join(str(error).split())[:160] or type(error).__name__
