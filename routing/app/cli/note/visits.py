"""What a truck does on its round: each verb turns the words typed into a truck and a fact."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Annotated

import typer

from routing.app.cli.note.event_verb import Made
from routing.app.cli.note.options import (
    Alive,
    Amounts,
    DepotId,
    Light,
    Loads,
    Lot,
    MeterText,
    TruckId,
    TruckName,
    Why,
    Words,
    YardId,
)
from routing.app.cli.note.reading import (
    depot_of,
    loads_of,
    place,
    tank_of,
    truck_at,
    truck_id_of,
    until_when,
    yard_of,
)
from routing.domain.errors import ValueRefused
from routing.domain.operation import place_key
from routing.files.log.words import counts, minutes
from routing.files.log.words import meter as read_meter
from routing.files.log.words import reason as read_reason
from routing.files.log.words import volume_l as read_volume_l
from routing.log.complete.complete import Known, Said
from routing.log.complete.pours import pours_of
from routing.log.complete.tanks import fills_of
from routing.log.facts import (
    Arrived,
    Fed,
    Finished,
    Gauged,
    Left,
    Poured,
    Refilled,
    Rested,
    Skipped,
    Started,
    Washed,
)


def started(
    known: Known,
    truck: TruckName,
    loads: Loads = None,
    lot: Lot = "",
) -> Made:
    """A truck left its depot; say with what if not as planned.

    Example: feedround note my-bees started heavy front=300gal
    """
    operation = known.operation
    truck_id = truck_id_of(operation, truck)
    told = loads_of(operation, loads or ())
    depot_id = operation.trucks[truck_id].start_depot
    planned = known.next_stop(truck_id, "start", depot_id)
    fills = fills_of(known, truck_id, depot_id, "start", told, lot) if told or planned else ()
    return truck_id, Started(depot_id, fills, as_planned=not told and bool(fills))


def arrived(
    known: Known,
    where: Annotated[str, typer.Argument(metavar="PLACE", help="Yard or depot, id or name.")],
    truck: TruckId = "",
) -> Made:
    """A truck reached a yard or depot.

    Example: feedround note my-bees arrived Y12
    """
    key = place(known.operation, where)
    return truck_at(known, truck, key), Arrived(key)


def left(
    known: Known,
    to: Annotated[str, typer.Argument(metavar="[PLACE]", help="Where the syrup goes.")] = "",
    truck: TruckId = "",
) -> Made:
    """A truck left a place; only needed if it stayed on after feeding.

    Example: feedround note my-bees left Y13 --truck heavy
    """
    key = place(known.operation, to) if to.strip() else ""
    return truck_at(known, truck), Left(key)


def fed(
    known: Known,
    yard: YardId,
    amounts: Amounts = None,
    truck: TruckId = "",
    tank: Annotated[str, typer.Option("--tank", help="Source tank, if not the planned one.")] = "",
    lot: Lot = "",
    meter: MeterText = "",
    alive: Alive = None,
    light: Light = None,
    done: Annotated[bool, typer.Option("--done", help="This yard is finished for today.")] = False,
    words: Words = "",
) -> Made:
    """A yard was fed; as planned if you give no amount.

    Note it when the crew is done there.

    Example: feedround note my-bees fed Y12 18/36gal
    """
    operation = known.operation
    yard_id = yard_of(operation, yard)
    truck_id = truck_at(known, truck, place_key("yard", yard_id))
    told = loads_of(operation, amounts or ())
    read = read_meter(meter, operation.units) if meter.strip() else None
    if read is not None and not told:
        told = [Said(total_l=round(read.volume_l, 3))]
    pours = pours_of(known, truck_id, yard_id, told, tank_of(operation, truck_id, tank), lot)
    pours = _counted(pours, alive or (), light or ())
    return truck_id, Fed(yard_id, pours, read, done, as_planned=not told, words=words)


def _counted(
    pours: tuple[Poured, ...], said_alive: Sequence[str], said_light: Sequence[str]
) -> tuple[Poured, ...]:
    """The pours with the colonies that were found alive and light in each group."""
    alive, light = counts(said_alive, "--alive"), counts(said_light, "--light")
    groups = list(dict.fromkeys(row.group for row in pours))
    for found, option in ((alive, "--alive"), (light, "--light")):
        if "" in found and len(groups) > 1:
            raise ValueRefused(f"{option}: say it by group, as in {groups[0]}=9")
        strange = [name for name in found if name and name not in groups]
        if strange:
            raise ValueRefused(f"{option}: no group {strange[0]} was fed here: {', '.join(groups)}")
    return tuple(
        replace(
            row, alive=alive.get(row.group, alive.get("")), light=light.get(row.group, light.get(""))
        )
        for row in pours
    )  # fmt: skip


def skipped(
    known: Known,
    yard: YardId,
    reason: Annotated[str, typer.Argument(metavar="REASON", help="gate, mud, owner, robbing, sick, ...")],
    more: Why = None,
    until: Annotated[str, typer.Option("--until", "-u", help="Open again at HH:MM.")] = "",
    truck: TruckId = "",
) -> Made:
    """A yard was skipped; say why.

    Example: feedround note my-bees skipped Y07 gate --until 14:00
    """
    yard_id, found = yard_of(known.operation, yard), read_reason(reason)
    again = until_when(known, until)
    try:
        truck_id = truck_at(known, truck, place_key("yard", yard_id))
    except ValueRefused:
        if truck.strip():
            raise
        # From the office: no truck was planned for it.
        truck_id = ""
    return truck_id, Skipped(yard_id, found, " ".join(more or ()), again)


def refilled(
    known: Known,
    depot: DepotId,
    loads: Loads = None,
    truck: TruckId = "",
    lot: Lot = "",
    meter: MeterText = "",
    words: Words = "",
) -> Made:
    """A truck was filled at a depot; as planned if you give no amount.

    Example: feedround note my-bees refilled base rear=200gal
    """
    operation = known.operation
    depot_id = depot_of(operation, depot)
    truck_id = truck_at(known, truck, place_key("depot", depot_id))
    told = loads_of(operation, loads or ())
    read = read_meter(meter, operation.units) if meter.strip() else None
    if read is not None and not told and len(operation.trucks[truck_id].tanks) == 1:
        told = [Said(total_l=round(read.volume_l, 3))]
    fills = fills_of(known, truck_id, depot_id, "refill", told, lot)
    return truck_id, Refilled(depot_id, fills, read, as_planned=not told, words=words)


def gauge(
    known: Known,
    tank: Annotated[str, typer.Argument(metavar="TANK", help="Tank id.")],
    amount: Annotated[str, typer.Argument(metavar="AMOUNT", help="Gauge reading, like 180gal.")],
    truck: TruckId = "",
) -> Made:
    """A gauge reading; from then on the tank holds that much.

    Example: feedround note my-bees gauge front 180gal
    """
    truck_id = truck_id_of(known.operation, truck) or _having(known, tank) or truck_at(known, "")
    return truck_id, Gauged(
        tank_of(known.operation, truck_id, tank), read_volume_l(amount, known.operation.units)
    )


def _having(known: Known, tank: str) -> str:
    """The only truck with a tank of that id; nothing where there are none or several."""
    low = tank.strip().casefold()
    having = [
        truck.truck_id
        for truck in known.operation.trucks.values()
        if any(one.tank_id.casefold() == low for one in truck.tanks)
    ]
    return having[0] if len(having) == 1 else ""


def rested(
    known: Known,
    length: Annotated[str, typer.Argument(metavar="MINUTES", help="Minutes, like 30.")],
    truck: TruckId = "",
) -> Made:
    """A break ended; say how long it was.

    Example: feedround note my-bees break 30
    """
    return truck_at(known, truck), Rested(minutes(length))


def washed(
    known: Known,
    depot: Annotated[
        str, typer.Argument(metavar="[DEPOT]", help="Depot id or name (default: where the truck stands).")
    ] = "",
    truck: TruckId = "",
) -> Made:
    """Truck and gear were washed down.

    Example: feedround note my-bees washed base
    """
    at = place_key("depot", depot_of(known.operation, depot)) if depot.strip() else ""
    truck_id = truck_at(known, truck, at)
    now = known.state.trucks[truck_id]
    places = [at] if at else [p for p in (now.place, now.heading) if p and p.startswith("depot:")]
    if not places:
        raise ValueRefused("give the depot where it was washed")
    return truck_id, Washed(places[0].partition(":")[2])


def finished(
    known: Known,
    depot: Annotated[str, typer.Argument(metavar="[DEPOT]", help="Depot (default: the end depot).")] = "",
    truck: TruckId = "",
) -> Made:
    """A truck is home and done for the day.

    Example: feedround note my-bees finished
    """
    truck_id = truck_at(known, truck)
    home = known.operation.trucks[truck_id].end_depot
    return truck_id, Finished(depot_of(known.operation, depot) if depot.strip() else home)
