"""Read the ids, loads and times of a note against the operation and the day as known."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime

from routing.app.workflow.day_book import wall_time
from routing.domain.operation import Operation, place_key
from routing.files.log.words import known_id, said
from routing.log.complete.complete import Known, Said, place_of, truck_of


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


def truck_at(known: Known, text: str, at: str = "") -> str:
    """The truck meant; without a word, the only one it can be. Raises ValueRefused when unclear."""
    return truck_of(known, truck_id_of(known.operation, text), at)


def loads_of(operation: Operation, texts: Sequence[str]) -> list[Said]:
    """The amounts told, with the ids of their syrups."""
    read = [said(text, operation.units) for text in texts]
    return [replace(part, syrup_id=syrup_of(operation, part.syrup_id)) for part in read]


def until_when(known: Known, text: str) -> datetime | None:
    """The time of the day meant; None for no word."""
    return wall_time(known.operation, known.state.day, text) if text.strip() else None
