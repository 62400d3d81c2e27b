"""Judge OpenStreetMap turn restrictions: which turns they take from a truck."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from routing.travel.osm.conditions import conditional

KEYS = ("restriction", "restriction:hgv", "restriction:conditional", "restriction:hgv:conditional")
"""The keys that speak to a truck (OpenStreetMap wiki, Relation:restriction)."""

UNKNOWN = "turn restriction of a kind not known"
SEVERAL = "turn restriction with several ends or without any"

_SEVERAL_FROM, _SEVERAL_TO = ("no_entry",), ("no_exit",)


class Turn(NamedTuple):
    """A turn restriction by ids: from one way to another over a node, or over ways when there are any.

    ``only`` forbids all other turns at the end of what lies between.
    """

    from_way: int
    via_node: int
    via_ways: tuple[int, ...]
    to_way: int
    only: bool


class Judged(NamedTuple):
    """Turns of one relation; ``skipped`` says why there are none, ``strict`` that a condition was not."""

    turns: tuple[Turn, ...]
    skipped: str = ""
    strict: bool = False


NONE = Judged(())


def turns_of(tags: Mapping[str, str], members: Sequence[tuple[str, str, int]]) -> Judged:
    """The turns that a relation forbids or prescribes; members as (role, type, id).

    A restriction with a condition (hours, weight) is read as if it always held: a way round is driven
    where none was needed, never a forbidden turn.
    """
    if tags.get("type") != "restriction" or "hgv" in tags.get("except", "").replace(" ", "").split(";"):
        return NONE
    plain = tags.get("restriction:hgv") or tags.get("restriction") or ""
    kinds = {plain} - {""}
    by_condition = {rule.value for key in KEYS[2:] for rule in conditional(tags.get(key))} - {"none"} - kinds
    if not kinds | by_condition:
        return NONE
    found: list[Turn] = []
    skipped = ""
    for kind in sorted(kinds | by_condition):
        turns, why = _of_kind(kind, members)
        found += turns
        skipped = skipped or why
    return Judged(tuple(found), skipped, bool(by_condition))


def _of_kind(kind: str, members: Sequence[tuple[str, str, int]]) -> tuple[list[Turn], str]:
    if not kind.startswith(("no_", "only_")):
        return [], UNKNOWN
    start, via, end = ([m for m in members if m[0] == role] for role in ("from", "via", "to"))
    if any(m[1] != "w" for m in (*start, *end)) or not _plausible(kind, len(start), len(end)):
        return [], SEVERAL
    over = {m[1] for m in via}
    if not (over == {"w"} or (over == {"n"} and len(via) == 1)):
        return [], SEVERAL
    node = via[0][2] if over == {"n"} else 0
    ways = tuple(m[2] for m in via) if over == {"w"} else ()
    # Nobody turns round on the road, so a way back into the same road over a point is no turn at all.
    return [
        Turn(a[2], node, ways, b[2], kind.startswith("only_"))
        for a in start
        for b in end
        if ways or a[2] != b[2] or kind != "no_u_turn"
    ], ""


def _plausible(kind: str, starts: int, ends: int) -> bool:
    """One road at either end; no_entry may name several to come from, no_exit several to go to."""
    return (starts == 1 or (kind in _SEVERAL_FROM and starts > 1)) and (
        ends == 1 or (kind in _SEVERAL_TO and ends > 1)
    )
