"""Judge what a yard that was called in gets: as much as was asked for, as far as its feeders take it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from routing.domain.clock import TimeWindow
from routing.domain.operation import Operation
from routing.domain.places import ColonyGroup
from routing.domain.ration import Dose, ReasonCode, YardNeed
from routing.domain.supplies import Feeder, FeederPosition
from routing.domain.units import DAY_S
from routing.log.day import YardNow
from routing.need.on_hand import on_hand
from routing.need.refusal import spills_under_robbing

CALLABLE = frozenset({ReasonCode.STORES_ENOUGH, ReasonCode.FEEDER_FULL, ReasonCode.SKIPPED})
"""Reasons to give nothing that a call from the yard overrules; the others (supers on, cold) stand."""


@dataclass(frozen=True)
class _Room:
    """Colonies of one group that a call is for, and what each of their feeders still takes."""

    group: ColonyGroup
    feeder: Feeder
    colonies: int
    room_l: float
    service_s: float


def called_in(need: YardNeed, known: YardNow, operation: Operation, day: date) -> YardNeed:
    """The need of a yard that was called in: as judged, or what the caller asked for."""
    if not need.doses and need.reason_code not in CALLABLE:
        return need
    doses = need.doses
    asked = (known.urgent_each_l, known.urgent_colonies, known.urgent_total_l)
    if not doses or any(part is not None for part in asked):
        doses = _asked_for(need, known, operation, day)
    if not doses:
        return need
    late = any(spills_under_robbing(operation.feeders[dose.feeder_id], operation) for dose in doses)
    windows = (TimeWindow(operation.feeding.late_from_s, DAY_S),) if late else None
    return replace(
        need, doses=doses, windows=windows, urgent=True, reason_code=None, reason="", remedy=""
    )  # fmt: skip


def _asked_for(need: YardNeed, known: YardNow, operation: Operation, day: date) -> tuple[Dose, ...]:
    """Doses for as many colonies, and with as much for each, as was asked for and as the feeders hold."""
    judged = {dose.group: dose.each_l for dose in need.doses}
    asked = known.urgent_colonies if known.urgent_colonies is not None else need.colonies
    rooms = _rooms(need.yard_id, operation, day, judged, asked)
    level_l = known.urgent_each_l
    if known.urgent_total_l is not None:
        level_l = level_of(known.urgent_total_l, [(room.room_l, room.colonies) for room in rooms])
    return tuple(
        Dose(
            room.group.group,
            room.feeder.feeder_id,
            room.group.syrup_id,
            room.colonies,
            min(room.room_l, level_l or judged.get(room.group.group, room.room_l)),
            room.service_s,
            room.feeder.swapped,
        )
        for room in rooms
    )


def _rooms(
    yard_id: str, operation: Operation, day: date, judged: Mapping[str, float], asked: int
) -> list[_Room]:
    """The groups that a call may feed, as far as the colonies asked for go."""
    level, rooms = operation.yards[yard_id].level, []
    for group in operation.groups_of(yard_id):
        feeder = operation.feeders[group.feeder_id]
        if not _may_fill(feeder, operation) or (judged and group.group not in judged):
            continue
        has = on_hand(group, operation, day)
        room_l = feeder.room_l(level=level, left_l=has.feeder_l)
        colonies = min(group.colonies, asked)
        if room_l > 0 and colonies:
            clean_s = operation.work.clean_feeder_s if has.spoilt_l > 0 else 0.0
            rooms.append(_Room(group, feeder, colonies, room_l, feeder.service_s + clean_s))
            asked -= colonies
    return rooms


def level_of(total_l: float, rooms: Sequence[tuple[float, int]]) -> float:
    """What each colony gets of a total that is shared evenly, no feeder given more than it takes.

    ``rooms``: litres that a feeder takes, and how many colonies have such a one. What no feeder takes is left
    over.
    """
    left_l, colonies = total_l, sum(n for _, n in rooms)
    level_l = 0.0
    for room_l, n in sorted(rooms):
        level_l = left_l / colonies
        if level_l <= room_l:
            return level_l
        left_l, colonies, level_l = left_l - n * room_l, colonies - n, room_l
    return level_l


def _may_fill(feeder: Feeder, operation: Operation) -> bool:
    """Whether a feeder may be filled on a call; open tubs and drips under robbing are the need's to judge."""
    if feeder.position is FeederPosition.COMMUNAL:
        return False
    return operation.feeding.spill_prone != "never" or not spills_under_robbing(feeder, operation)
