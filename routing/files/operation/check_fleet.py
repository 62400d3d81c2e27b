"""Check trucks, tanks and feeders: what they weigh, hold and can carry."""

from __future__ import annotations

from collections.abc import Mapping

from routing.files.operation.check_truck_class import check_class
from routing.files.problems.problems import Problems
from routing.files.settings.values import Settings
from routing.files.tables.records import Record, Records

# Light-side estimate of a syrup's density from its solids: the sugar counted as 1.55 kg/L, about 1 %
# under the published tables of sucrose and corn syrups. A tank refused by it is too heavy for certain.
SUGAR_KG_PER_L = 1.55


def light_density(syrup: Record) -> float | None:
    """Density of a syrup in kg/L, never more than it truly is; None when its row is bad."""
    given: float | None = syrup.get("density_kg_per_l")
    solids: float | None = syrup.get("solids")
    if given is not None or solids is None:
        return given
    return 1 / (1 - solids * (1 - 1 / SUGAR_KG_PER_L))


def check_trucks(tables: Mapping[str, Records], usual: str | None, problems: Problems) -> None:
    """Weights and fuel use of each truck, and its tanks against its payload."""
    tanks_of: dict[str, list[Record]] = {}
    for tank in tables["tanks"]:
        tanks_of.setdefault(tank.get("truck_id"), []).append(tank)
    densities = {
        word: density for word, row in tables["syrups"].ids().items() if (density := light_density(row))
    }
    trucks = tables["trucks"]
    for truck in trucks:
        tanks = tanks_of.get(truck.get("truck_id"), [])
        _check_truck(trucks, truck, problems)
        if not tanks and not truck.get("pail_slots") and tables["tanks"].sound and truck.whole:
            trucks.complain(
                problems,
                "truck_carries_nothing",
                truck,
                "truck_id",
                "the truck has neither tanks nor pail slots",
                "add its tanks in tanks, or pail_slots",
            )
        gvwr, tare = truck.get("gvwr_kg"), truck.get("tare_kg")
        if gvwr is not None and tare is not None and gvwr > tare and densities:
            load = _Load(tables["tanks"], trucks, truck, gvwr - tare, densities, usual)
            load.check(tanks, problems)


def _check_truck(trucks: Records, truck: Record, problems: Problems) -> None:
    gvwr, tare = truck.get("gvwr_kg"), truck.get("tare_kg")
    if gvwr is not None and tare is not None and tare >= gvwr:
        trucks.complain(
            problems,
            "tare_above_gvwr",
            truck,
            "tare_kg",
            "the empty truck weighs as much as it may at most",
            "check tare and gvwr and their units",
        )
    if gvwr is not None and tare is not None and tare < gvwr:
        check_class(trucks, truck, gvwr, tare, problems)
    empty, full = truck.get("fuel_empty_l_per_km"), truck.get("fuel_full_l_per_km")
    if empty is not None and full is not None and full < empty:
        trucks.complain(
            problems,
            "full_uses_less",
            truck,
            "fuel_full_l_per_km",
            "the full truck uses less fuel than the empty one",
            "exchange the two figures",
        )


class _Load:
    """The tanks of one truck against what it may carry."""

    def __init__(
        self,
        tank_records: Records,
        trucks: Records,
        truck: Record,
        payload_kg: float,
        densities: Mapping[str, float],
        usual: str | None,
    ) -> None:
        self.tank_records, self.trucks, self.truck = tank_records, trucks, truck
        self.payload_kg, self.densities, self.usual = payload_kg, densities, usual

    def check(self, tanks: list[Record], problems: Problems) -> None:
        full_kg, now_kg, certain = 0.0, 0.0, False
        for tank in tanks:
            capacity, level = tank.get("capacity_l"), tank.get("level_l") or 0.0
            if capacity is None:
                continue
            if level > capacity + 1e-6:
                self._overfull(tank, problems)
                continue
            kg = capacity * self._density(tank.get("syrup_id"))
            if kg > self.payload_kg:
                certain = True
                self._too_heavy(tank, kg, problems)
            full_kg += kg
            now_kg += level * self._density(tank.get("syrup_id") or self.usual)
        if now_kg > self.payload_kg:
            self._overloaded(now_kg, problems)
        if full_kg > self.payload_kg and not certain:
            self._together(full_kg, problems)

    def _density(self, syrup_id: str | None) -> float:
        return self.densities.get(syrup_id or "", min(self.densities.values()))

    def _weights(self, kg: float) -> str:
        """A load and the payload, in the unit in which the truck's weights are typed."""
        header, _ = self.truck.typed("gvwr_kg")
        unit = next(n.unit for n in self.trucks.table.column("gvwr_kg").names if n.header == header)
        load, payload = unit.from_si(kg), unit.from_si(self.payload_kg)
        return f"{load:,.0f} {unit.text} of syrup, and the truck may carry {payload:,.0f} {unit.text}"

    def _overfull(self, tank: Record, problems: Problems) -> None:
        self.tank_records.complain(
            problems,
            "level_above_capacity",
            tank,
            "level_l",
            "there is more in the tank than it holds",
            "check level and capacity and their units",
        )

    def _too_heavy(self, tank: Record, kg: float, problems: Problems) -> None:
        self.tank_records.complain(
            problems,
            "tank_too_heavy",
            tank,
            "capacity_l",
            f"the tank is too heavy for the truck: full, it holds {self._weights(kg)}",
            "take a smaller tank, or check gvwr and tare of the truck",
        )

    def _overloaded(self, kg: float, problems: Problems) -> None:
        self.trucks.complain(
            problems,
            "overloaded_now",
            self.truck,
            "gvwr_kg",
            f"the truck is over its legal weight now: its tanks hold {self._weights(kg)}",
            "check the levels in tanks, or gvwr and tare",
        )

    def _together(self, kg: float, problems: Problems) -> None:
        self.trucks.complain(
            problems,
            "tanks_together_too_heavy",
            self.truck,
            "gvwr_kg",
            f"all tanks full together hold {self._weights(kg)}",
            "no action needed: plans load less than full",
            "warning",
        )


def check_supplies(tables: Mapping[str, Records], settings: Settings, problems: Problems) -> None:
    """Feeders, prices, pails and stock against each other."""
    feeders, syrups = tables["feeders"], tables["syrups"]
    least = settings.groups["feeding"].min_dose_l
    for record in feeders:
        capacity = record.get("capacity_l")
        if capacity is not None and capacity < least:
            feeders.complain(
                problems,
                "feeder_below_dose",
                record,
                "capacity_l",
                "it holds less than the least dose, so it is never filled",
                "check its capacity, or lower min_dose in [feeding]",
                "warning",
            )
    for record in syrups:
        if record.get("price_per_l") is not None and record.get("price_per_kg") is not None:
            syrups.complain(
                problems,
                "two_prices",
                record,
                "price_per_kg",
                "the price is given by volume and by weight",
                "keep one of them",
            )
    _check_pails(tables, problems)
    _check_pumped(tables, problems)
    _check_source(tables, problems)


def _check_pails(tables: Mapping[str, Records], problems: Problems) -> None:
    feeders = tables["feeders"]
    used = {record.get("feeder_id") for record in tables["colonies"] if record.get("colonies")}
    swapped = next((r for r in feeders if r.get("swapped") and r.get("feeder_id") in used), None)
    if swapped is None:
        return
    depots, trucks = tables["depots"], tables["trucks"]
    if depots.sound and not any(record.get("base") for record in depots):
        feeders.complain(
            problems,
            "no_base",
            swapped,
            "swapped",
            "full pails are loaded at a base, and no depot is one",
            "write base = yes for a depot, or swapped = no",
        )
    if trucks.sound and not any(record.get("pail_slots") for record in trucks):
        feeders.complain(
            problems,
            "no_pail_truck",
            swapped,
            "swapped",
            "it travels as pails, and no truck has pail_slots",
            "give a truck pail_slots, or write swapped = no",
            "warning",
        )


def _check_pumped(tables: Mapping[str, Records], problems: Problems) -> None:
    feeders, tanks = tables["feeders"], tables["tanks"]
    used = {record.get("feeder_id") for record in tables["colonies"] if record.get("colonies")}
    pumped = next((r for r in feeders if not r.get("swapped") and r.get("feeder_id") in used), None)
    if pumped is not None and tanks.sound and not list(tanks):
        feeders.complain(
            problems,
            "no_tank_truck",
            pumped,
            "swapped",
            "it is filled by the pump, and no truck has a tank",
            "add the trucks' tanks in tanks, or write swapped = yes",
            "warning",
        )


def _check_source(tables: Mapping[str, Records], problems: Problems) -> None:
    stock, tanks = tables["stock"], tables["tanks"]
    # An empty cell means that the stock is not limited.
    stocked = any(record.get("on_hand_l") != 0 for record in stock)
    if stock.sound and tanks.sound and not stocked and not any(record.get("level_l") for record in tanks):
        problems.warn(
            "no_source",
            stock.file,
            0,
            "on_hand",
            "",
            "nothing is in stock anywhere and no tank holds anything",
            "write what the depots have in stock",
        )
