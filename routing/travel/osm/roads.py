"""Judge the tags of OpenStreetMap ways and nodes: which are roads for a truck, and of what kind."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from math import ceil
from typing import NamedTuple

from routing.travel.osm.conditions import conditional, strict_access, values_of
from routing.travel.osm.values import (
    CLOSED,
    ENDS,
    OPEN,
    access_level,
    length_m,
    mass_kg,
    speed_km_per_h,
    value_level,
)

KINDS = (
    "motorway", "trunk", "primary", "secondary", "tertiary", "unclassified", "residential", "living_street",
    "service", "link", "track", "track_grade1", "track_grade2", "track_grade3", "track_grade4",
    "track_grade5",
)  # fmt: skip
"""Kinds of road by number; each has its speed in ``RoadSettings``."""

CAPS = ("", "gravel", "dirt", "cobble")
"""Surfaces that lower a speed, by number; each has its speed in ``RoadSettings``."""

HGV_KG = 3500
"""From which plated mass on the key hgv speaks of a truck: 3.5 t (OpenStreetMap wiki, Key:hgv)."""

_BY_HIGHWAY = {kind: kind for kind in KINDS[:9]} | {
    "road": "unclassified",
    "busway": "service",
    **{f"{kind}_link": "link" for kind in KINDS[:5]},
}
_PATHS = ("path", "bridleway", "footway", "cycleway", "pedestrian")
_GRAVEL = ("gravel", "fine_gravel", "compacted", "pebblestone", "unpaved", "chipseal")
_DIRT = ("dirt", "earth", "ground", "mud", "sand", "grass", "clay", "soil", "woodchips", "rock", "snow")
_COBBLE = ("cobblestone", "sett", "unhewn_cobblestone", "grass_paver")
_SOFT_GRADES = ("grade4", "grade5")
_FIRM_GRADES = ("grade1", "grade2", "grade3")
_NOT_DRIVABLE_SERVICE = ("emergency_access", "drive-through")


class RoadTags(NamedTuple):
    """What a way's tags say. ``open``: 1 forward, 2 backward, 3 both. Masses kg, lengths cm, 0: no limit.

    ``ends_only``: may begin or end a drive there, not pass through. ``max_kg`` binds the mass at the time,
    ``max_rating_kg`` the plated mass, ``max_axle_kg`` the heaviest axle.
    """

    kind: int
    cap: int
    posted_km_per_h: int
    open: int
    ends_only: bool
    dry_only: bool
    ford: bool
    roundabout: bool
    max_kg: int
    max_rating_kg: int
    max_height_cm: int
    max_length_cm: int
    max_width_cm: int = 0
    max_axle_kg: int = 0


class NodeTags(NamedTuple):
    """What a point on a road does to those who pass: ``delay`` names a delay of ``RoadSettings``."""

    closed: bool
    delay: int
    dry_only: bool


DELAYS = ("", "signals", "stop", "gate", "private_gate", "ford")
"""Delays at a point by number; each has its seconds in ``RoadSettings``."""

_PASSED_BARRIERS = (
    "toll_booth",
    "border_control",
    "entrance",
    "cattle_grid",
    "height_restrictor",
    "sally_port",
)
_GATES = ("gate", "lift_gate", "swing_gate", "hampshire_gate", "bump_gate", "sliding_gate", "chain", "rope")


def road_tags(tags: Mapping[str, str]) -> RoadTags | None:
    """The road that a way is for a truck; None when it is none."""
    kind = _kind(tags)
    if kind is None or tags.get("area") == "yes" or tags.get("service") in _NOT_DRIVABLE_SERVICE:
        return None
    level, hgv_limit = _levels(tags)
    strict = strict_access(tags)
    open_ = _open(tags, kind)
    if (
        not open_
        or level == CLOSED
        or tags.get("impassable") == "yes"
        or tags.get("smoothness") == "impassable"
    ):
        return None
    surface = tags.get("surface", "")
    grade = tags.get("tracktype", "")
    return RoadTags(
        kind=KINDS.index(kind),
        cap=_cap(surface),
        posted_km_per_h=min(255, round(_posted(tags) or 0)),
        open=open_,
        ends_only=ENDS in (level, strict.level),
        dry_only=strict.dry_only
        or grade in _SOFT_GRADES
        or (_base(surface) in _DIRT and grade not in _FIRM_GRADES),
        ford=tags.get("ford", "no") not in ("no", ""),
        roundabout=tags.get("junction") in ("roundabout", "circular"),
        max_kg=_whole_kg([*_masses(tags, "maxweight"), *strict.max_kg]),
        max_rating_kg=_whole_kg([*_masses(tags, "maxweightrating"), hgv_limit, *strict.max_rating_kg]),
        max_height_cm=_least_cm([*_lengths(tags, "maxheight"), *strict.max_height_m]),
        max_length_cm=_least_cm([*_lengths(tags, "maxlength"), *strict.max_length_m]),
        max_width_cm=_least_cm(_lengths(tags, "maxwidth")),
        max_axle_kg=_whole_kg(_masses(tags, "maxaxleload")),
    )


def _masses(tags: Mapping[str, str], key: str) -> list[float | None]:
    """A posted mass, also one for trucks or under a condition."""
    return [mass_kg(value) for one in (key, f"{key}:hgv") for value in values_of(tags, one)]


def _lengths(tags: Mapping[str, str], key: str) -> list[float | None]:
    """A posted length, also a measured one or one under a condition."""
    return [length_m(value) for one in (key, f"{key}:physical") for value in values_of(tags, one)]


def point_limits(tags: Mapping[str, str]) -> dict[str, int]:
    """Limits posted at a point (a height restrictor, a low bridge mapped as one), by name in ``RoadTags``."""
    found = {
        "max_kg": _whole_kg(_masses(tags, "maxweight")),
        "max_rating_kg": _whole_kg(_masses(tags, "maxweightrating")),
        "max_height_cm": _least_cm(_lengths(tags, "maxheight")),
        "max_length_cm": _least_cm(_lengths(tags, "maxlength")),
        "max_width_cm": _least_cm(_lengths(tags, "maxwidth")),
        "max_axle_kg": _whole_kg(_masses(tags, "maxaxleload")),
    }
    return {name: limit for name, limit in found.items() if limit}


def with_limits(facts: RoadTags, limits: Mapping[str, int]) -> RoadTags:
    """A road with further limits: the lower ones hold."""
    posted = facts._asdict()
    for name, limit in limits.items():
        posted[name] = min(limit, posted[name] or limit)
    return RoadTags(**posted)


def node_tags(tags: Mapping[str, str]) -> NodeTags | None:
    """What a tagged point on a road does; None when nothing."""
    barrier, highway = tags.get("barrier", ""), tags.get("highway", "")
    level = access_level(tags) if barrier else OPEN
    stated = any(key in tags for key in ("motor_vehicle", "vehicle", "access"))
    if barrier in _GATES:
        if level == CLOSED:
            return NodeTags(True, 0, False)
        private = level == ENDS or tags.get("locked") == "yes"
        return NodeTags(False, DELAYS.index("private_gate" if private else "gate"), False)
    if barrier and barrier not in _PASSED_BARRIERS and (level == CLOSED or not stated):
        return NodeTags(True, 0, False)
    if tags.get("ford", "no") not in ("no", ""):
        return NodeTags(False, DELAYS.index("ford"), True)
    if highway == "traffic_signals":
        return NodeTags(False, DELAYS.index("signals"), False)
    if highway == "stop" or tags.get("railway") == "level_crossing":
        return NodeTags(False, DELAYS.index("stop"), False)
    return None


def _kind(tags: Mapping[str, str]) -> str | None:
    highway = tags.get("highway", "")
    if highway in _BY_HIGHWAY:
        return _BY_HIGHWAY[highway]
    grade = tags.get("tracktype", "")
    if highway == "track":
        return f"track_{grade}" if grade in (*_FIRM_GRADES, *_SOFT_GRADES) else "track"
    # A path is a road only where motor traffic is allowed in so many words.
    said = tags.get("hgv") or tags.get("motor_vehicle") or tags.get("agricultural")
    if highway in _PATHS and said and value_level(said) != CLOSED:
        return "track"
    return None


def _levels(tags: Mapping[str, str]) -> tuple[int, float | None]:
    """Access, and the plated mass from which on the road is closed.

    ``hgv`` goes before the other keys, yet speaks only of trucks above 3.5 t.
    """
    general = access_level(tags)
    if not (hgv := tags.get("hgv")):
        return general, None
    level = value_level(hgv)
    if level == CLOSED:
        return general, HGV_KG
    return level, None


def _open(tags: Mapping[str, str], kind: str) -> int:
    """1 forward, 2 backward, 3 both, 0 neither."""
    word = next((tags[k] for k in ("oneway:hgv", "oneway:motor_vehicle", "oneway") if k in tags), "").lower()
    # One way at some hours counts as one way at all; a road that changes its direction is driven in neither.
    hours = {rule.value for rule in conditional(tags.get("oneway:conditional"))} - {"no"}
    if word in ("reversible", "alternating") or len(hours) > 1:
        return 0
    word = next(iter(hours)) if hours and word in ("", "no", "0", "false") else word
    if word in ("-1", "reverse"):
        return 2
    if word in ("yes", "1", "true"):
        return 1
    implied = kind == "motorway" or tags.get("junction") in ("roundabout", "circular")
    return 1 if implied and word not in ("no", "0", "false") else 3


def _posted(tags: Mapping[str, str]) -> float | None:
    found = [speed_km_per_h(value) for key in ("maxspeed", "maxspeed:hgv") for value in values_of(tags, key)]
    return min((value for value in found if value is not None), default=None)


def _base(surface: str) -> str:
    """The surface without its detail: ``concrete:lanes`` is concrete."""
    return surface.split(";")[0].split(":")[0].strip()


def _cap(surface: str) -> int:
    base = _base(surface)
    for number, words in ((1, _GRAVEL), (2, _DIRT), (3, _COBBLE)):
        if base in words:
            return number
    return 0


def _whole_kg(values: Iterable[float | None]) -> int:
    """The least limit in whole kilograms; 0 for none.

    Rounded up: a truck of 11,000 lb (4,989.5 kg) may pass where 11,000 lb are posted.
    """
    found = [value for value in values if value is not None and value > 0]
    return ceil(round(min(found), 6)) if found else 0


def _least_cm(metres: Iterable[float | None]) -> int:
    """The least of those that are there in whole centimetres, rounded down; 0 for none."""
    found = [100 * value for value in metres if value is not None and value > 0]
    return max(1, int(round(min(found), 6))) if found else 0
