"""Make the season's feed record: which feed, of which lot, from whom, went where, when, and how much."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

import pandas as pd

from routing.domain.operation import Operation
from routing.log.corrections import in_force
from routing.log.events import Event
from routing.log.facts import Fed, Mixed, Poured, Received
from routing.reports.words.format import Units
from routing.reports.words.text import one_line

HEADERS = (
    "date", "time", "yard_id", "yard_name", "registration_id", "group", "product", "syrup_id", "lot",
    "supplier", "colonies", "quantity", "unit", "quantity_l", "feeder_id", "truck_id", "how_known",
    "note", "event_id",
)  # fmt: skip


def feed_record(operation: Operation, events: Iterable[Event], everything: Iterable[Event]) -> pd.DataFrame:
    """The record, one row a pour, by time; no text in it that a spreadsheet takes for a formula.

    Product, date, quantity, lot and supplier are what the CFIA Honey Bee Producer Guide (section 2.1)
    asks for. ``everything``: all events of the log, in which deliveries tell who supplied a lot.
    """
    suppliers = _suppliers(in_force(everything))
    rows = [
        _row(operation, event, event.fact, row, suppliers)
        for event in in_force(events)
        if isinstance(event.fact, Fed)
        for row in event.fact.pours
    ]
    return pd.DataFrame(rows, columns=list(HEADERS))


def feed_record_csv(record: pd.DataFrame) -> str:
    """The record as CSV."""
    return record.to_csv(index=False, lineterminator="\n")


def _suppliers(events: Sequence[Event]) -> dict[tuple[str, str], str]:
    """Who supplied each (syrup, lot), by the deliveries and batches noted."""
    found: dict[tuple[str, str], str] = {}
    for event in events:
        fact = event.fact
        if isinstance(fact, Received) and fact.supplier:
            found[fact.syrup_id, fact.lot] = fact.supplier
        elif isinstance(fact, Mixed):
            found[fact.syrup_id, fact.lot] = f"own mix: {fact.words}" if fact.words else "own mix"
    return found


def _row(
    operation: Operation, event: Event, fact: Fed, row: Poured, suppliers: dict[tuple[str, str], str]
) -> dict[str, Any]:
    yard = operation.yards.get(fact.yard_id)
    units = Units(operation.units, operation.currency)
    moment: datetime = event.at.astimezone(ZoneInfo(operation.timezone))
    if fact.as_planned:
        known = "as planned, not measured"
    else:
        known = "flow meter" if fact.meter is not None else "noted by the crew"
    words = {
        "yard_name": yard.name if yard else "",
        "registration_id": yard.registration_id if yard else "",
        "group": row.group,
        "product": _product(operation, row.syrup_id),
        "syrup_id": row.syrup_id,
        "lot": row.lot,
        "supplier": _supplier(operation, row, suppliers),
        "note": fact.words,
    }
    return {
        "date": f"{moment:%Y-%m-%d}",
        "time": f"{moment:%H:%M}",
        "yard_id": _cell(fact.yard_id),
        "colonies": row.colonies,
        "quantity": quantity(units, row, fact.as_planned),
        "unit": "US gal" if units.us else "L",
        "quantity_l": round(row.volume_l, 3),
        "feeder_id": _cell(row.feeder_id),
        "truck_id": _cell(event.truck_id),
        "how_known": known,
        "event_id": event.event_id,
    } | {key: _cell(text) for key, text in words.items()}


def quantity(units: Units, row: Poured, as_planned: bool) -> float:
    """The volume in the operation's own unit, to a hundredth.

    A plan's dose is cut to whole millilitres a colony, in litres: what it stands for is the round number
    that is no further off than that (54 gal, not 53.99).
    """
    value = units.volume_value(row.volume_l)
    cut = units.volume_value(row.colonies * 0.001) if as_planned else 0.0
    near = (round(value, digits) for digits in (0, 1) if abs(round(value, digits) - value) <= cut)
    return next(near, round(value, 2))


def _supplier(operation: Operation, row: Poured, suppliers: dict[tuple[str, str], str]) -> str:
    """The suppliers of all lots that were in the tank together."""
    syrup = operation.syrups.get(row.syrup_id)
    usual = syrup.supplier if syrup else ""
    lots = row.lot.split("+") if row.lot else [""]
    return "; ".join(dict.fromkeys(s for lot in lots if (s := suppliers.get((row.syrup_id, lot), usual))))


def _product(operation: Operation, syrup_id: str) -> str:
    """``sucrose syrup, 66.7 % solids``."""
    syrup = operation.syrups.get(syrup_id)
    if syrup is None:
        return syrup_id
    return f"{syrup.kind.value} syrup, {syrup.solids * 100:.1f} % solids"


def _cell(text: str) -> str:
    """One line that no spreadsheet takes for a formula."""
    line = one_line(text)
    return f"'{line}" if line.startswith(("=", "+", "-", "@")) else line
