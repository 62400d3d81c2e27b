"""Make a note of a feeding whole: which colonies, how much to each group, from which tank, of which lot."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from routing.domain.errors import ValueRefused
from routing.domain.plan import Pour
from routing.log.complete.complete import Known, Said
from routing.log.complete.share import shares, whole_shares
from routing.log.day import TruckNow
from routing.log.facts import Poured


@dataclass(frozen=True)
class _Row:
    """What one line of a visit would be, before its amount is known."""

    group: str
    feeder_id: str
    syrup_id: str
    colonies: int
    volume_l: float
    tank_id: str | None = None


def pours_of(
    known: Known, truck_id: str, yard_id: str, said: Sequence[Said], tank_id: str = "", lot: str = ""
) -> tuple[Poured, ...]:
    """The pours of a visit: as told, and as planned where nothing was told.

    One amount without a group is shared among the groups as the plan shares it. Raises ValueRefused,
    with what to say, when the plan does not tell what the note leaves out.
    """
    rows = _rows(known, truck_id, yard_id)
    if not said:
        if not any(row.volume_l for row in rows):
            raise ValueRefused(f"nothing is planned at {yard_id}: say how much, as in 40/80gal")
        return tuple(_poured(known, truck_id, row, tank_id, lot) for row in rows)
    named: dict[str, Said] = {}
    for part in said:
        if part.name in named:
            raise ValueRefused(f"{part.name or 'an amount for all groups'} is told twice")
        named[part.name] = part
    if "" in named and len(named) > 1:
        raise ValueRefused("name the group before every amount, as in strong=30/60gal weak=10/12gal")
    told: list[_Row] = []
    for name, part in named.items():
        chosen = [row for row in rows if not name or row.group == name]
        if not chosen:
            chosen = [_of_operation(known, yard_id, name)]
        told += _told(chosen, part)
    return tuple(_poured(known, truck_id, row, tank_id, lot) for row in told)


def _rows(known: Known, truck_id: str, yard_id: str) -> list[_Row]:
    """The lines of the planned visit, else what is left in the yard, else its groups with no amount."""
    yard = known.state.yards[yard_id]
    left = {group.group: group.left_colonies for group in yard.groups}
    stop = known.next_stop(truck_id, "yard", yard_id)
    rows = []
    for pour in stop.pour if stop else ():
        colonies = min(pour.colonies, left.get(pour.group, 0))
        left[pour.group] = left.get(pour.group, 0) - colonies
        if colonies:
            rows.append(_of_pour(pour, colonies))
    if rows:
        return rows
    for group in yard.groups:
        if group.left_colonies:
            volume_l = round(group.left_colonies * group.each_l, 3)
            rows.append(_Row(group.group, group.feeder_id, group.syrup_id, group.left_colonies, volume_l))
    if rows:
        return rows
    groups = known.operation.groups_of(yard_id)
    return [_Row(g.group, g.feeder_id, g.syrup_id, g.colonies, 0.0) for g in groups if g.colonies]


def _of_pour(pour: Pour, colonies: int) -> _Row:
    volume_l = round(pour.volume_l * colonies / pour.colonies, 3)
    return _Row(pour.group, pour.feeder_id, pour.syrup_id, colonies, volume_l, pour.tank_id)


def _of_operation(known: Known, yard_id: str, name: str) -> _Row:
    groups = {g.group: g for g in known.operation.groups_of(yard_id)}
    if name not in groups:
        raise ValueRefused(f"{yard_id} has no group {name}: it has {', '.join(groups) or 'none'}")
    found = groups[name]
    return _Row(name, found.feeder_id, found.syrup_id, found.colonies, 0.0)


def _told(rows: Sequence[_Row], part: Said) -> list[_Row]:
    """The lines with the colonies and litres that were told."""
    counts = [row.colonies for row in rows]
    if part.count is not None:
        several = len({row.group for row in rows}) > 1
        if several and part.count != sum(counts):
            names = ", ".join(dict.fromkeys(row.group for row in rows))
            raise ValueRefused(f"say the colonies for each group ({names}), as in {rows[0].group}=30/60gal")
        counts = whole_shares(part.count, counts)
    if part.each_l is not None:
        volumes = [round(count * part.each_l, 3) for count in counts]
    elif part.total_l is not None:
        planned = [
            row.volume_l * count / max(1, row.colonies) for row, count in zip(rows, counts, strict=True)
        ]
        volumes = shares(part.total_l, planned if any(planned) else [float(count) for count in counts])
    else:
        volumes = [
            row.volume_l * count / max(1, row.colonies) for row, count in zip(rows, counts, strict=True)
        ]
        if not any(volumes):
            raise ValueRefused("say how much, as in 40/80gal")
    return [
        _Row(row.group, row.feeder_id, row.syrup_id, count, round(volume_l, 3), row.tank_id)
        for row, count, volume_l in zip(rows, counts, volumes, strict=True)
        if count or volume_l
    ]


def _poured(known: Known, truck_id: str, row: _Row, tank_id: str, lot: str) -> Poured:
    truck = known.state.trucks[truck_id]
    feeder = known.operation.feeders.get(row.feeder_id)
    if feeder is not None and feeder.swapped and not tank_id:
        return Poured(
            row.group, row.feeder_id, row.syrup_id, row.colonies, row.volume_l, None, row.colonies,
            lot or known.lot(row.syrup_id),
        )  # fmt: skip
    tank = tank_id or _tank(truck, row)
    held = truck.tanks.get(tank)
    lots = "+".join(held.lots) if held and held.syrup_id == row.syrup_id else ""
    syrup_id = held.syrup_id if tank_id and held and held.syrup_id else row.syrup_id
    return Poured(
        row.group, row.feeder_id, syrup_id, row.colonies, row.volume_l, tank, 0,
        lot or lots or known.lot(syrup_id),
    )  # fmt: skip


def _tank(truck: TruckNow, row: _Row) -> str:
    """The planned tank while it holds the syrup, else the fullest that does, else the planned one."""
    planned = truck.tanks.get(row.tank_id or "")
    if row.tank_id and planned and planned.syrup_id == row.syrup_id:
        return row.tank_id
    holding = [(-t.volume_l, name) for name, t in truck.tanks.items() if t.syrup_id == row.syrup_id]
    if holding:
        return min(holding)[1]
    if row.tank_id or len(truck.tanks) == 1:
        return row.tank_id or next(iter(truck.tanks))
    raise ValueRefused(f"say from which tank with --tank: {', '.join(truck.tanks) or 'it has none'}")
