"""Name syrups, feeders and tanks in words: ids are for the tables."""

from __future__ import annotations

from routing.domain.operation import Operation
from routing.domain.supplies import Feeder, FeederPosition, Syrup, SyrupKind
from routing.reports.words.format import Units, number
from routing.reports.words.text import one_line

PARTS = {"1:1": 0.5, "3:2": 0.6, "2:1": 2 / 3}
"""Mass of sugar to mass of water, and the solids that this makes."""

KIND_WORDS = {
    SyrupKind.HFCS42: "HFCS 42",
    SyrupKind.HFCS55: "HFCS 55",
    SyrupKind.INVERT: "invert syrup",
    SyrupKind.OTHER: "syrup",
}
FEEDER_WORDS = {
    FeederPosition.ENTRANCE: "entrance feeder",
    FeederPosition.FRAME: "frame feeder",
    FeederPosition.LID: "over-lid feeder",
    FeederPosition.TOP: "hive-top feeder",
    FeederPosition.COMMUNAL: "open tub",
}


def syrup_name(operation: Operation, syrup_id: str | None) -> str:
    """``2:1 sugar``, ``HFCS 55``: the id only where two syrups would be called the same."""
    syrup = operation.syrups.get(syrup_id or "")
    if syrup is None:
        return plain_id(syrup_id or "syrup")
    name = _syrup(syrup)
    alike = [other for other in operation.syrups.values() if _syrup(other) == name]
    return name if len(alike) == 1 else f"{name} ({plain_id(syrup.syrup_id)})"


def _syrup(syrup: Syrup) -> str:
    if syrup.kind is not SyrupKind.SUCROSE:
        return KIND_WORDS[syrup.kind]
    parts = next((name for name, solids in PARTS.items() if abs(syrup.solids - solids) < 0.008), "")
    return f"{parts or f'{number(syrup.solids * 100)} %'} sugar"


def feeder_name(operation: Operation, feeder_id: str) -> str:
    """``2 gal frame feeder``, ``2 gal over-lid pail``: with the id where two would be called the same."""
    feeder = operation.feeders.get(feeder_id)
    if feeder is None:
        return plain_id(feeder_id)
    units = Units(operation.units)
    name = _feeder(feeder, units)
    alike = [other for other in operation.feeders.values() if _feeder(other, units) == name]
    return name if len(alike) == 1 else f"{name} ({plain_id(feeder_id)})"


def _feeder(feeder: Feeder, units: Units) -> str:
    size = units.volume_value(feeder.capacity_l)
    amount = f"{number(size, 2).rstrip('0').rstrip('.') if size % 1 else number(size)} {units.volume_unit}"
    word = FEEDER_WORDS[feeder.position]
    return f"{amount} {word.replace('feeder', 'pail') if feeder.swapped else word}"


def plain_id(identifier: str) -> str:
    """An id as words: ``moulded trough``."""
    return one_line(identifier.replace("_", " "))
