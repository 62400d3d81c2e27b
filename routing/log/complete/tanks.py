"""Make a note of a load whole: which syrup, how much into which tank, how many pails, of which lot."""

from __future__ import annotations

from collections.abc import Sequence

from routing.domain.errors import ValueRefused
from routing.domain.plan import Fill, Stop
from routing.log.complete.complete import Known, Said
from routing.log.day import TruckNow
from routing.log.facts import Filled

PAILS = "pails"
"""What a note names in place of a tank to load pails."""


def fills_of(
    known: Known, truck_id: str, depot_id: str, kind: str, said: Sequence[Said], lot: str = ""
) -> tuple[Filled, ...]:
    """The fills of a refill (or of the start): as told, and as planned where nothing was told.

    Raises ValueRefused, with what to say, when the plan does not tell what the note leaves out.
    """
    stop = known.next_stop(truck_id, kind, depot_id)
    if not said:
        if stop is None or (not stop.fill and kind == "refill"):
            raise ValueRefused(f"no refill at {depot_id} is planned: say what was filled, as in front=300gal")
        return tuple(
            Filled(f.syrup_id, f.volume_l, f.tank_id, f.pails, lot or known.lot(f.syrup_id))
            for f in stop.fill
        )
    truck = known.state.trucks[truck_id]
    return tuple(_filled(known, truck, stop, part, lot) for part in said)


def _filled(known: Known, truck: TruckNow, stop: Stop | None, part: Said, lot: str) -> Filled:
    planned = {fill.tank_id or PAILS: fill for fill in (stop.fill if stop else ())}
    name = part.name or (next(iter(truck.tanks)) if len(truck.tanks) == 1 else "")
    if not name:
        raise ValueRefused(f"say into which tank, as in {next(iter(truck.tanks), 'front')}=300gal")
    syrup_id = part.syrup_id or (planned[name].syrup_id if name in planned else "")
    if name == PAILS:
        syrup_id = syrup_id or known.operation.feeding.syrup_id
        return _filled_pails(known, planned.get(name), part, syrup_id, lot)
    tanks = {t.tank_id: t for t in known.operation.trucks[truck.truck_id].tanks}
    if name not in tanks:
        raise ValueRefused(f"truck {truck.truck_id} has no tank {name}: it has {', '.join(tanks)}, pails")
    tank, now = tanks[name], truck.tanks[name]
    syrup_id = syrup_id or tank.syrup_id or now.syrup_id or known.operation.feeding.syrup_id
    volume_l = part.total_l
    if part.full:
        volume_l = max(0.0, round(tank.capacity_l - now.volume_l, 3))
    if volume_l is None or part.count is not None:
        raise ValueRefused(f"say how much went into {name}, as in {name}=300gal or {name}=full")
    return Filled(syrup_id, volume_l, name, 0, lot or known.lot(syrup_id))


def _filled_pails(known: Known, planned: Fill | None, part: Said, syrup_id: str, lot: str) -> Filled:
    if part.count is None:
        raise ValueRefused("say how many pails of how much, as in pails=12x2gal")
    each_l = part.each_l
    if each_l is None and planned is not None and planned.pails:
        each_l = planned.volume_l / planned.pails
    volume_l = part.total_l
    if volume_l is None and each_l is not None:
        volume_l = round(part.count * each_l, 3)
    if volume_l is None:
        raise ValueRefused("say how much is in a pail, as in pails=12x2gal")
    return Filled(syrup_id, volume_l, None, part.count, lot or known.lot(syrup_id))
