"""Follow who was fed since the inspection: groups of which only some colonies were fed are parted."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from zoneinfo import ZoneInfo

from routing.domain.operation import Operation
from routing.domain.places import ColonyGroup, FedSince
from routing.domain.supplies import FeederPosition
from routing.log.events import Event
from routing.log.facts import Fed, Poured

_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
NOT_FED = "not fed yet"


def fed_since(operation: Operation, events: Iterable[Event]) -> tuple[ColonyGroup, ...]:
    """The groups of an operation with what they were fed since their inspection.

    ``events`` are those in force, in their order. A feeding counts from the date of the inspection on: who
    inspects and feeds on one day feeds after he has looked. Of a group that was fed in part, those
    colonies are taken to have been fed that had waited longest; it comes out in parts, each with a name of
    its own.
    """
    visits: dict[str, list[tuple[Event, Fed]]] = defaultdict(list)
    for event in events:
        if isinstance(event.fact, Fed):
            visits[event.fact.yard_id].append((event, event.fact))
    zone = ZoneInfo(operation.timezone)
    found: list[ColonyGroup] = []
    for group in operation.groups:
        told = visits.get(group.yard_id)
        names = [one.group for one in operation.groups_of(group.yard_id)] if told else []
        found += _carried(group, names, told or (), zone, operation) if told else (group,)
    return tuple(found)


@dataclass
class _Part:
    """Colonies of one group with one history."""

    colonies: int
    fed: tuple[FedSince, ...] = ()

    @property
    def last(self) -> datetime:
        """When they were fed last; long ago if never."""
        return self.fed[-1].at if self.fed else datetime.min.replace(tzinfo=ZoneInfo("UTC"))


def _carried(
    group: ColonyGroup,
    names: Sequence[str],
    visits: Sequence[tuple[Event, Fed]],
    zone: ZoneInfo,
    operation: Operation,
) -> list[ColonyGroup]:
    parts = [_Part(group.colonies)]
    shared = operation.feeders[group.feeder_id].position is FeederPosition.COMMUNAL
    for event, fact in visits:
        if event.day < group.date:
            continue
        rows = [row for row in fact.pours if own_name(row.group, names) == group.group]
        for syrup_id, colonies, volume_l in _by_syrup(rows):
            if volume_l <= 0:
                continue
            many = group.colonies if shared or not colonies else colonies
            parts = _feed(parts, many, volume_l, event.at.astimezone(zone), syrup_id)
        parts = _living(parts, rows)
    return _named(group, parts)


def own_name(name: str, names: Sequence[str]) -> str:
    """The name of the group that a note is about: a part goes by the name of its group and a comma.

    Empty where a yard has several groups and none of that name; the only group of a yard is always meant.
    """
    if name in names:
        return name
    fitting = [one for one in names if name.startswith(f"{one}, ")]
    if fitting:
        return max(fitting, key=len)
    return names[0] if len(names) == 1 else ""


def _by_syrup(rows: Sequence[Poured]) -> list[tuple[str, int, float]]:
    """What one visit gave to a group: syrup, colonies, litres. Rows from two tanks are one feeding."""
    sums: dict[str, list[float]] = {}
    for row in rows:
        total = sums.setdefault(row.syrup_id, [0.0, 0.0])
        total[0] += row.colonies
        total[1] += row.volume_l
    return [(syrup_id, int(colonies), volume_l) for syrup_id, (colonies, volume_l) in sums.items()]


def _feed(parts: list[_Part], colonies: int, volume_l: float, at: datetime, syrup_id: str) -> list[_Part]:
    """Share a volume among so many colonies, those first that have waited longest."""
    left = min(colonies, sum(part.colonies for part in parts))
    if not left:
        return parts
    each = FedSince(at, volume_l / left, syrup_id)
    found: list[_Part] = []
    for part in sorted(parts, key=lambda part: part.last):
        taken = min(left, part.colonies)
        left -= taken
        if taken:
            found.append(_Part(taken, (*part.fed, each)))
        if taken < part.colonies:
            found.append(_Part(part.colonies - taken, part.fed))
    return found


def _living(parts: list[_Part], rows: Sequence[Poured]) -> list[_Part]:
    """Leave out colonies that were found dead, those first that were fed least lately."""
    counted = [row.alive for row in rows if row.alive is not None]
    if not counted:
        return parts
    dead = max(0, sum(part.colonies for part in parts) - max(counted))
    found = []
    for part in sorted(parts, key=lambda part: part.last):
        gone = min(dead, part.colonies)
        dead -= gone
        found.append(_Part(part.colonies - gone, part.fed))
    return [part for part in found if part.colonies] or [_Part(0)]


def _named(group: ColonyGroup, parts: Sequence[_Part]) -> list[ColonyGroup]:
    """The parts as groups, those fed last first; a group that is whole keeps its name."""
    if len(parts) == 1:
        return [replace(group, colonies=parts[0].colonies, fed=parts[0].fed)]
    found: list[ColonyGroup] = []
    taken: set[str] = set()
    for part in sorted(parts, key=lambda part: part.last, reverse=True):
        name = base = f"{group.group}, {_when(part)}"
        number = 1
        while name in taken:
            number += 1
            name = f"{base} ({number})"
        taken.add(name)
        found.append(
            replace(group, group=name, part_of=group.group, colonies=part.colonies, fed=part.fed)
        )  # fmt: skip
    return found


def _when(part: _Part) -> str:
    if not part.fed:
        return NOT_FED
    day = part.fed[-1].at.date()
    return f"fed {day.day} {_MONTHS[day.month - 1]}"
