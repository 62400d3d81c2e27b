"""Make the operation from records that passed every check of their own."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

from routing.domain.errors import ValueRefused
from routing.domain.fleet import Tank, Truck
from routing.domain.operation import Operation
from routing.domain.places import (
    ColonyGroup,
    Depot,
    Foulbrood,
    Health,
    Position,
    Stock,
    Stores,
    Yard,
)
from routing.domain.supplies import Feeder, Syrup
from routing.files.columns.supplies import feeder_defaults
from routing.files.problems.problems import Problems
from routing.files.settings.values import Settings
from routing.files.tables.records import Record, Records
from routing.files.tables.values import window

MPG_FULL_SHARE = 0.80
"""Miles per gallon full over empty where only the empty figure is typed: an estimate."""

_STORES = ("stores_kg", "honey_frames", "frame", "gross_kg", "tare_kg")


def build_operation(
    tables: Mapping[str, Records],
    settings: Settings,
    rows_of: Mapping[str, list[Record]],
    usual: str | None,
    problems: Problems,
) -> Operation:
    """The operation. What a domain type refuses becomes a problem at its row."""
    make = _Maker(tables, settings, usual or "", problems)
    parts = {name: make.all(name) for name in ("yards", "feeders", "syrups", "trucks", "depots")}
    groups = make.groups(rows_of)
    head, kinds = settings.head, settings.groups
    return Operation(
        name=head["name"],
        timezone=head.get("timezone", "UTC"),
        units=head.get("units", "metric"),
        currency=head.get("currency", ""),
        groups=groups,
        given=settings.given,
        yards=parts["yards"],
        feeders=parts["feeders"],
        syrups=parts["syrups"],
        trucks=parts["trucks"],
        depots=parts["depots"],
        cost=kinds["cost"],
        shift=kinds["shift"],
        travel=kinds["travel"],
        feeding=replace(kinds["feeding"], syrup_id=usual or ""),
        work=kinds["work"],
        roads=kinds["roads"],
        uptake=kinds["uptake"],
        keeping=kinds["keeping"],
    )


class _Maker:
    def __init__(
        self, tables: Mapping[str, Records], settings: Settings, usual: str, problems: Problems
    ) -> None:
        self.tables, self.settings, self.usual, self.problems = tables, settings, usual, problems

    def all(self, name: str) -> dict[str, Any]:
        """The domain objects of one table by id. Rows with problems are left out."""
        makers: dict[str, Callable[[Record], Any]] = {
            "yards": self.yard,
            "feeders": self.feeder,
            "syrups": lambda record: Syrup(**record.values),
            "trucks": self.truck,
            "depots": self.depot,
        }
        found = {}
        records = self.tables[name]
        for record in records:
            made = self.sound(records, record, makers[name])
            if made is not None:
                found[record.get(records.table.key[0])] = made
        return found

    def sound(self, records: Records, record: Record, make: Callable[[Record], Any]) -> Any:
        """One object, or None when its row has problems or the domain refuses it."""
        required = (c.field for c in records.table.columns if c.required)
        if not record.whole or any(record.get(field) is None for field in required):
            return None
        try:
            return make(record)
        except ValueRefused as refused:
            records.complain(
                self.problems,
                "refused",
                record,
                next(iter(records.table.key), "yard_id"),
                str(refused),
                "check the values of this row",
            )
            return None

    def yard(self, record: Record) -> Yard:
        values = dict(record.values)
        position = Position(values.pop("lat"), values.pop("lon"))
        name = values.pop("name") or values["yard_id"]
        if values.get("foulbrood", Foulbrood.NO) is not Foulbrood.NO:
            values["health"] = Health.QUARANTINE
        return Yard(position=position, name=name, **values)

    def feeder(self, record: Record) -> Feeder:
        return Feeder(**{**feeder_defaults(record.get("position")), **record.values})

    def depot(self, record: Record) -> Depot:
        values = dict(record.values)
        position = Position(values.pop("lat"), values.pop("lon"))
        name = values.pop("name") or values["depot_id"]
        rows = self.tables["stock"]
        stock = [
            self.sound(rows, row, lambda r: Stock(**{"on_hand_l": None, **r.values}))
            for row in rows
            if row.get("depot_id") == values["depot_id"]
        ]
        return Depot(position=position, name=name, stock=tuple(s for s in stock if s), **values)

    def truck(self, record: Record) -> Truck:
        values = dict(record.values)
        values.setdefault("end_depot", values["start_depot"])
        values.setdefault("fuel_full_l_per_km", round(values["fuel_empty_l_per_km"] / MPG_FULL_SHARE, 9))
        start_s, end_s = values.pop("start_s", None), values.pop("end_s", None)
        if start_s is not None or end_s is not None:
            usual = self.settings.groups["shift"].window
            values["shift"] = window(
                usual.start_s if start_s is None else start_s, usual.end_s if end_s is None else end_s
            )
        rows = self.tables["tanks"]
        tanks = [
            self.sound(rows, row, self.tank) for row in rows if row.get("truck_id") == values["truck_id"]
        ]
        return Truck(tanks=tuple(tank for tank in tanks if tank), **values)

    def tank(self, record: Record) -> Tank:
        values = dict(record.values)
        values.pop("truck_id")
        return Tank(**values)

    def groups(self, rows_of: Mapping[str, list[Record]]) -> tuple[ColonyGroup, ...]:
        records = self.tables["colonies"]
        made = (self.sound(records, row, self.group) for rows in rows_of.values() for row in rows)
        return tuple(group for group in made if group is not None)

    def group(self, record: Record) -> ColonyGroup:
        values = dict(record.values)
        judged = {field: values.pop(field) for field in _STORES if field in values}
        if values["colonies"] == 0 and not judged.keys() & {"stores_kg", "honey_frames", "gross_kg"}:
            judged["stores_kg"] = 0.0
        values.setdefault("syrup_id", self.usual)
        return ColonyGroup(stores=Stores(**judged), **values)
