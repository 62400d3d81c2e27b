"""Keep the book of what a truck carries: tanks, pails, and what does not add up."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from routing.domain.fleet import Truck
from routing.log.day import PailsNow, TankNow
from routing.log.facts import Filled, Poured

Say = Callable[..., None]
"""Takes the code of a gap, and its place, item and amount by name."""

NOTHING_L = 0.0005


@dataclass
class Cargo:
    """Tanks and pails of one truck, as the events change them. A level never leaves 0..capacity."""

    truck: Truck
    usual_syrup: str
    say: Say
    tanks: dict[str, TankNow] = field(default_factory=dict)
    pails: dict[str, PailsNow] = field(default_factory=dict)
    pails_empty: int = 0

    def __post_init__(self) -> None:
        for tank in self.truck.tanks:
            held = tank.level_l > 0
            syrup_id = (tank.syrup_id or self.usual_syrup) if held else None
            self.tanks[tank.tank_id] = TankNow(syrup_id, tank.level_l)
        self._capacity = {tank.tank_id: tank.capacity_l for tank in self.truck.tanks}

    def fill(self, row: Filled) -> None:
        """Take syrup aboard."""
        if row.tank_id is None:
            old = self.pails.get(row.syrup_id, PailsNow(0, 0.0))
            self.pails[row.syrup_id] = PailsNow(old.count + row.pails, round(old.volume_l + row.volume_l, 3))
            return
        if row.tank_id not in self.tanks:
            self.say("unknown", item=row.tank_id, amount=row.volume_l)
            return
        tank = self.tanks[row.tank_id]
        if tank.volume_l > NOTHING_L and tank.syrup_id != row.syrup_id and row.volume_l > 0:
            self.say("wrong_syrup", item=row.tank_id, amount=row.volume_l)
        level = round(tank.volume_l + row.volume_l, 3)
        over = round(level - self._capacity[row.tank_id], 3)
        if over > NOTHING_L:
            self.say("tank_over", item=row.tank_id, amount=over)
            level = self._capacity[row.tank_id]
        lots = dict.fromkeys((*tank.lots, row.lot)) if tank.volume_l > NOTHING_L else {row.lot: None}
        self.tanks[row.tank_id] = TankNow(
            row.syrup_id if level > NOTHING_L else None, level, tuple(lot for lot in lots if lot)
        )

    def pour(self, row: Poured, keeps_pails: bool) -> None:
        """Give syrup away; empties come back unless the yard keeps them."""
        if row.tank_id is None:
            self._give_pails(row, keeps_pails)
            return
        if row.tank_id not in self.tanks:
            self.say("unknown", item=row.tank_id, amount=row.volume_l)
            return
        tank = self.tanks[row.tank_id]
        if tank.syrup_id not in (None, row.syrup_id) and row.volume_l > 0:
            self.say("wrong_syrup", item=row.tank_id, amount=row.volume_l)
        level = round(tank.volume_l - row.volume_l, 3)
        if level < -NOTHING_L:
            self.say("tank_short", item=row.tank_id, amount=-level)
        self._set(row.tank_id, max(0.0, level))

    def gauge(self, tank_id: str, volume_l: float) -> None:
        """Believe the gauge: the level is what it shows, and the difference is told."""
        if tank_id not in self.tanks:
            self.say("unknown", item=tank_id, amount=volume_l)
            return
        tank = self.tanks[tank_id]
        difference = round(volume_l - tank.volume_l, 3)
        if abs(difference) > NOTHING_L:
            self.say("gauge_gap", item=tank_id, amount=difference)
        if volume_l > self._capacity[tank_id] + NOTHING_L:
            self.say("gauge_over", item=tank_id, amount=round(volume_l - self._capacity[tank_id], 3))
        if tank.syrup_id is None and volume_l > NOTHING_L:
            dedicated = next(t.syrup_id for t in self.truck.tanks if t.tank_id == tank_id)
            self.tanks[tank_id] = TankNow(dedicated or self.usual_syrup, tank.volume_l)
        self._set(tank_id, min(volume_l, self._capacity[tank_id]))

    def _set(self, tank_id: str, volume_l: float) -> None:
        tank = self.tanks[tank_id]
        empty = volume_l <= NOTHING_L
        self.tanks[tank_id] = TankNow(None, 0.0) if empty else TankNow(tank.syrup_id, volume_l, tank.lots)

    def _give_pails(self, row: Poured, keeps_pails: bool) -> None:
        old = self.pails.get(row.syrup_id, PailsNow(0, 0.0))
        if row.pails > old.count:
            self.say("pails_short", item=row.syrup_id, amount=float(row.pails - old.count))
        count = max(0, old.count - row.pails)
        # What is left weighs what its pails hold: a note of litres alone must not leave syrup in no pail.
        volume_l = max(0.0, round(old.volume_l - row.volume_l, 3)) if count else 0.0
        self.pails[row.syrup_id] = PailsNow(count, volume_l)
        self.pails_empty += 0 if keeps_pails else row.pails
