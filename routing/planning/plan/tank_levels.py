"""Follow each tank of a truck through the day: which tank is filled, which one is poured from."""

from __future__ import annotations

from dataclasses import dataclass, field

from routing.domain.plan import Fill, Pour, TankState
from routing.domain.ration import Dose

HALF_ML = 0.5
"""Levels are kept in whole millilitres."""


@dataclass
class _Tank:
    """One tank: its level in whole millilitres, as routes are judged, and what it holds exactly."""

    tank_id: str
    syrup_id: str
    capacity_ml: int
    level_ml: int
    exact_ml: float = field(init=False)

    def __post_init__(self) -> None:
        self.exact_ml = float(self.level_ml)


class TankLevels:
    """The tanks of one truck. The emptiest tank that holds a syrup is poured from first, so that at most
    one tank of a syrup is part full (a part-full tank surges).
    """

    def __init__(self, tanks: list[tuple[str, str, int, int]]) -> None:
        """Take ``(tank_id, syrup_id, capacity_ml, level_ml)`` of each tank."""
        self.tanks = [_Tank(*tank) for tank in tanks]

    def fill(self, syrup_id: str, ml: int) -> list[Fill]:
        """Take a syrup aboard, the fullest tank first."""
        lines = []
        for tank in sorted(self._holding(syrup_id), key=lambda t: -t.level_ml):
            taken = min(ml, tank.capacity_ml - tank.level_ml)
            if taken > 0:
                tank.level_ml += taken
                tank.exact_ml += taken
                ml -= taken
                lines.append(Fill(syrup_id, taken / 1000, tank.tank_id))
        return lines

    def pour(self, dose: Dose, colonies: int) -> list[Pour]:
        """Give some colonies a whole dose each, every colony from one tank.

        What is too little for another colony stays in its tank. The rules of a route see to it that all tanks
        together hold enough whole doses.
        """
        dose_ml, left = dose.each_l * 1000, colonies
        lines: list[Pour] = []
        for tank in sorted(self._holding(dose.syrup_id), key=lambda t: t.level_ml):
            served = min(left, int((tank.level_ml + HALF_ML) / dose_ml))
            if served:
                tank.level_ml -= min(tank.level_ml, int(served * dose_ml + HALF_ML))
                tank.exact_ml = max(0.0, tank.exact_ml - served * dose_ml)
                left -= served
                volume_l = round(served * dose.each_l, 6)
                lines.append(Pour(dose.group, dose.feeder_id, dose.syrup_id, served, volume_l, tank.tank_id))
        return lines

    def _holding(self, syrup_id: str) -> list[_Tank]:
        return [tank for tank in self.tanks if tank.syrup_id == syrup_id]

    def state(self) -> dict[str, TankState]:
        """What every tank holds now."""
        return {
            tank.tank_id: TankState(
                tank.syrup_id if tank.exact_ml >= HALF_ML else None, round(tank.exact_ml / 1000, 6)
            )
            for tank in self.tanks
        }
