"""Turn the words of a note into a truck and a fact, reading ids and amounts on the way."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from routing.app.workflow.day_book import Build, DayBook
from routing.domain.errors import ValueRefused
from routing.domain.operation import Operation, place_key
from routing.files.log.words import counts, known_id, minutes, reason, said
from routing.files.log.words import meter as read_meter
from routing.files.log.words import volume_l as read_volume_l
from routing.log.complete.complete import Known, Said, place_of, truck_of
from routing.log.complete.pours import pours_of
from routing.log.complete.tanks import fills_of
from routing.log.events import Fact
from routing.log.facts import (
    Arrived,
    DepotClosed,
    Fed,
    Finished,
    Gauged,
    Left,
    Meter,
    Mixed,
    Poured,
    Received,
    Refilled,
    Rested,
    Skipped,
    Started,
    TruckBack,
    TruckOut,
    Urgent,
    Washed,
    YardClosed,
)

Made = tuple[str, Fact]


def yard_of(operation: Operation, text: str) -> str:
    """The yard meant."""
    return known_id(text, {y.yard_id: y.name for y in operation.yards.values()}, "yard")


def depot_of(operation: Operation, text: str) -> str:
    """The depot meant."""
    return known_id(text, {d.depot_id: d.name for d in operation.depots.values()}, "depot")


def truck_id_of(operation: Operation, text: str) -> str:
    """The truck meant; empty stays empty."""
    return known_id(text, {name: name for name in operation.trucks}, "truck") if text.strip() else ""


def syrup_of(operation: Operation, text: str) -> str:
    """The syrup meant; empty stays empty."""
    return known_id(text, {name: name for name in operation.syrups}, "syrup") if text.strip() else ""


def tank_of(operation: Operation, truck_id: str, text: str) -> str:
    """The tank meant; empty stays empty."""
    names = {tank.tank_id: tank.tank_id for tank in operation.trucks[truck_id].tanks}
    return known_id(text, names, "tank") if text.strip() else ""


def place(operation: Operation, text: str) -> str:
    """The key of the yard or depot meant."""
    if ":" in text or text in operation.yards or text in operation.depots:
        return place_of(operation, text)
    names = {f"yard:{y.yard_id}": y.name for y in operation.yards.values()}
    names |= {f"depot:{d.depot_id}": d.name for d in operation.depots.values()}
    low = text.strip().casefold()
    found = [key for key, name in names.items() if low in (name.casefold(), key.partition(":")[2].casefold())]
    if len(found) == 1:
        return found[0]
    return place_key("yard", yard_of(operation, text))


def _truck(known: Known, text: str, at: str = "") -> str:
    return truck_of(known, truck_id_of(known.operation, text), at)


def _loads(operation: Operation, texts: Sequence[str]) -> list[Said]:
    read = [said(text, operation.units) for text in texts]
    return [replace(part, syrup_id=syrup_of(operation, part.syrup_id)) for part in read]


def started(operation: Operation, truck: str, loads: Sequence[str], lot: str) -> Build:
    """A truck left its depot."""
    truck_id = truck_id_of(operation, truck)
    told = _loads(operation, loads)

    def build(known: Known) -> Made:
        depot_id = operation.trucks[truck_id].start_depot
        planned = known.next_stop(truck_id, "start", depot_id)
        fills = fills_of(known, truck_id, depot_id, "start", told, lot) if told or planned else ()
        return truck_id, Started(depot_id, fills, as_planned=not told and bool(fills))

    return build


def arrived(known: Known, truck: str, text: str) -> Made:
    """A truck reached a place."""
    key = place(known.operation, text)
    return _truck(known, truck, key), Arrived(key)


def left(known: Known, truck: str, text: str) -> Made:
    """A truck left where it was."""
    key = place(known.operation, text) if text.strip() else ""
    return _truck(known, truck), Left(key)


@dataclass(frozen=True)
class Visit:
    """A note of a feeding, as typed."""

    yard: str
    amounts: tuple[str, ...]
    tank: str = ""
    lot: str = ""
    meter: str = ""
    alive: tuple[str, ...] = ()
    light: tuple[str, ...] = ()


def fed(known: Known, truck: str, visit: Visit, done: bool, words: str) -> Made:
    """A yard was fed."""
    operation = known.operation
    yard_id = yard_of(operation, visit.yard)
    truck_id = _truck(known, truck, place_key("yard", yard_id))
    told = _loads(operation, visit.amounts)
    meter = read_meter(visit.meter, operation.units) if visit.meter.strip() else None
    if meter is not None and not told:
        told = [Said(total_l=round(meter.volume_l, 3))]
    tank_id = tank_of(operation, truck_id, visit.tank)
    pours = pours_of(known, truck_id, yard_id, told, tank_id, visit.lot)
    pours = _counted(pours, visit)
    return truck_id, Fed(yard_id, pours, meter, done, as_planned=not told, words=words)


def _counted(pours: tuple[Poured, ...], visit: Visit) -> tuple[Poured, ...]:
    """The pours with the colonies that were found alive and light in each group."""
    alive, light = counts(visit.alive, "--alive"), counts(visit.light, "--light")
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


def skipped(book: DayBook, truck: str, yard: str, why: str, words: str, until: str) -> Build:
    """A yard was left unfed; from the office when no truck is said and none was planned for it."""
    yard_id, found = yard_of(book.operation, yard), reason(why)
    again = book.moment(until) if until.strip() else None

    def build(known: Known) -> Made:
        try:
            truck_id = _truck(known, truck, place_key("yard", yard_id))
        except ValueRefused:
            if truck.strip():
                raise
            truck_id = ""
        return truck_id, Skipped(yard_id, found, words, again)

    return build


def refilled(
    known: Known, truck: str, depot: str, loads: Sequence[str], lot: str, meter: str, words: str
) -> Made:
    """A truck was filled."""
    operation = known.operation
    depot_id = depot_of(operation, depot)
    truck_id = _truck(known, truck, place_key("depot", depot_id))
    told = _loads(operation, loads)
    read: Meter | None = read_meter(meter, operation.units) if meter.strip() else None
    if read is not None and not told and len(operation.trucks[truck_id].tanks) == 1:
        told = [Said(total_l=round(read.volume_l, 3))]
    fills = fills_of(known, truck_id, depot_id, "refill", told, lot)
    return truck_id, Refilled(depot_id, fills, read, as_planned=not told, words=words)


def gauged(known: Known, truck: str, tank: str, amount: str) -> Made:
    """A gauge was read."""
    truck_id = truck_id_of(known.operation, truck)
    if not truck_id:
        low = tank.strip().casefold()
        having = [
            t.truck_id
            for t in known.operation.trucks.values()
            if any(one.tank_id.casefold() == low for one in t.tanks)
        ]
        truck_id = having[0] if len(having) == 1 else _truck(known, "")
    return truck_id, Gauged(
        tank_of(known.operation, truck_id, tank), read_volume_l(amount, known.operation.units)
    )


def rested(known: Known, truck: str, length: str) -> Made:
    """A break was taken."""
    return _truck(known, truck), Rested(minutes(length))


def washed(known: Known, truck: str, depot: str) -> Made:
    """Truck and gear were washed; without a depot, where the truck stands or goes."""
    at = place_key("depot", depot_of(known.operation, depot)) if depot.strip() else ""
    truck_id = _truck(known, truck, at)
    now = known.state.trucks[truck_id]
    places = [at] if at else [p for p in (now.place, now.heading) if p and p.startswith("depot:")]
    if not places:
        raise ValueRefused("say at which depot it was washed")
    return truck_id, Washed(places[0].partition(":")[2])


def finished(known: Known, truck: str, depot: str) -> Made:
    """A truck is home."""
    truck_id = _truck(known, truck)
    home = known.operation.trucks[truck_id].end_depot
    return truck_id, Finished(depot_of(known.operation, depot) if depot.strip() else home)


def out(operation: Operation, truck: str, words: str) -> Made:
    """A truck cannot go on."""
    return truck_id_of(operation, truck), TruckOut(words)


def back(operation: Operation, truck: str, words: str) -> Made:
    """A truck can be used."""
    return truck_id_of(operation, truck), TruckBack(words)


def closed(book: DayBook, text: str, words: str, until: str) -> Made:
    """A yard or depot is closed."""
    kind, _, place_id = place(book.operation, text).partition(":")
    again = book.moment(until) if until.strip() else None
    return "", DepotClosed(place_id, again, words) if kind == "depot" else YardClosed(place_id, again, words)


def urgent(operation: Operation, yard: str, amount: str, words: str) -> Made:
    """A yard must be fed today: as much in all, or for each colony, as was said."""
    yard_id = yard_of(operation, yard)
    part = said(amount, operation.units) if amount.strip() else Said()
    if part.name or part.full:
        raise ValueRefused(
            f"{amount!r}: a call is for the whole yard: say it like 20gal, 12/20gal or 10x1gal"
        )
    if part.syrup_id:
        usual = list(dict.fromkeys(group.syrup_id for group in operation.groups_of(yard_id)))
        if usual != [syrup_of(operation, part.syrup_id)]:
            raise ValueRefused(
                f"{yard_id} is fed {' and '.join(usual) or 'nothing'} (colonies.csv), so that a call cannot "
                f"ask for {part.syrup_id}: leave the syrup out, or change syrup_id there"
            )
    return "", Urgent(yard_id, part.count, part.each_l, words, part.total_l)


def supplied(
    operation: Operation, depot: str, syrup: str, amount: str, lot: str, supplier: str | None, words: str
) -> Made:
    """Syrup came to a depot: mixed there (``supplier`` None) or delivered."""
    depot_id, syrup_id = depot_of(operation, depot), syrup_of(operation, syrup)
    litres = read_volume_l(amount, operation.units)
    if supplier is None:
        return "", Mixed(depot_id, syrup_id, litres, lot, words)
    return "", Received(depot_id, syrup_id, litres, lot, supplier, words)
