"""Read OpenStreetMap tags that hold under a condition, and take them at their strictest.

A road graph is built once and knows neither day nor hour nor load, so a rule that forbids under a condition
counts as if the condition held, and one that allows under a condition as if it did not. Source of the
grammar: OpenStreetMap wiki, Conditional restrictions (``value @ (condition AND condition); ...``).
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import NamedTuple

from routing.travel.osm.values import CLOSED, ENDS, OPEN, length_m, mass_kg, value_level

SUFFIX = ":conditional"

_RULE = re.compile(r"([^@;()]+)@\s*(\([^()]*\)|[^;()]*)")
_ABOVE = re.compile(r"^([a-z_]+)\s*(>=|>)\s*(.+)$")
_ACCESS_KEYS = ("access", "vehicle", "motor_vehicle", "hgv")
_WET = ("wet", "rain", "flood", "mud", "snow", "ice")
_MASS, _RATING = ("weight",), ("weightrating", "maxweightrating", "gvw")


class Rule(NamedTuple):
    """A value, and the conditions that must all hold for it."""

    value: str
    conditions: tuple[str, ...]


class Strict(NamedTuple):
    """What conditional access makes of a road: ``level`` at best, and the limits that follow from it."""

    level: int = OPEN
    dry_only: bool = False
    max_kg: tuple[float, ...] = ()
    max_rating_kg: tuple[float, ...] = ()
    max_height_m: tuple[float, ...] = ()
    max_length_m: tuple[float, ...] = ()


def conditional(text: str | None) -> tuple[Rule, ...]:
    """The rules of one conditional tag; what cannot be read as one is passed over."""
    found = []
    for value, condition in _RULE.findall(text or ""):
        parts = re.split(r"\s+and\s+", condition.strip().strip("()").strip().lower())
        found.append(Rule(value.strip().lower(), tuple(part.strip() for part in parts if part.strip())))
    return tuple(found)


def values_of(tags: Mapping[str, str], key: str) -> Iterable[str]:
    """The value of a tag and every value that it has under a condition."""
    if key in tags:
        yield tags[key]
    for rule in conditional(tags.get(key + SUFFIX)):
        yield rule.value


def is_conditional(tags: Mapping[str, str]) -> bool:
    """Whether a road has a rule under a condition that is taken at its strictest."""
    keys = (
        *_ACCESS_KEYS,
        "maxweight",
        "maxweight:hgv",
        "maxweightrating",
        "maxspeed",
        "maxspeed:hgv",
        "oneway",
    )
    return any(key + SUFFIX in tags for key in keys)


def strict_access(tags: Mapping[str, str]) -> Strict:
    """Access at its strictest.

    Closed above a mass or size: that is a limit. Closed when wet: a road for dry days. Closed at times, or
    open to some only: a drive may begin or end there, but does not pass through.
    """
    found = Strict()
    for key in _ACCESS_KEYS:
        for rule in conditional(tags.get(key + SUFFIX)):
            found = _stricter(found, rule)
    return found


def _stricter(found: Strict, rule: Rule) -> Strict:
    level = value_level(rule.value)
    if level == OPEN:
        return found
    if level == CLOSED:
        for condition in rule.conditions:
            if (limited := _limited(found, condition)) is not None:
                return limited
        if any(condition in _WET for condition in rule.conditions):
            return found._replace(dry_only=True)
    return found._replace(level=ENDS)


def _limited(found: Strict, condition: str) -> Strict | None:
    """With the limit that a condition as ``weight>7.5`` sets; None when it sets none."""
    above = _ABOVE.match(condition)
    if above is None:
        return None
    name, value = above[1], above[3]
    kg, metres = mass_kg(value), length_m(value)
    if name in _MASS and kg:
        return found._replace(max_kg=(*found.max_kg, kg))
    if name in _RATING and kg:
        return found._replace(max_rating_kg=(*found.max_rating_kg, kg))
    if name == "height" and metres:
        return found._replace(max_height_m=(*found.max_height_m, metres))
    if name == "length" and metres:
        return found._replace(max_length_m=(*found.max_length_m, metres))
    return None
