"""The trucks and what they carry syrup in."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from routing.domain.clock import TimeWindow
from routing.domain.errors import require


@dataclass(frozen=True)
class Tank:
    """One compartment. ``syrup_id`` given: it holds only that; ``level_l`` is what is in it now.

    ``gauged``: the date on whose morning so much was in it; None: before anything was noted.
    """

    tank_id: str
    capacity_l: float
    syrup_id: str | None = None
    level_l: float = 0.0
    baffled: bool = False
    gauged: date | None = None

    def __post_init__(self) -> None:
        require(self.capacity_l > 0, f"a tank holds more than nothing: {self.capacity_l}")
        require(
            0 <= self.level_l <= self.capacity_l + 1e-6,
            f"a tank of {self.capacity_l:.1f} L cannot hold {self.level_l:.1f} L",
        )


@dataclass(frozen=True)
class PailLoad:
    """Full pails aboard, with one syrup."""

    syrup_id: str
    pails: int
    volume_l: float


HERE = "here-"
"""Begins the id of a depot that stands in for the yard a truck in mid-day goes on from."""


@dataclass(frozen=True)
class Underway:
    """A truck found in mid-day, standing at its ``start_depot`` (which may be a place made for it).

    ``from_s`` is when it is free to go on, in elapsed seconds after local midnight; its crew is on the
    clock from then. ``worked_s`` and ``driven_s`` are spent already; ``since_break_s`` and
    ``driven_since_break_s`` count from the last break. ``rank`` is the worst health visited since the
    last wash-down. ``moving``: it is still on its way to its ``start_depot``. ``stranded``:
    it broke down on its way from there, and is taken to go on from there.
    """

    from_s: int
    worked_s: int = 0
    driven_s: int = 0
    since_break_s: int = 0
    driven_since_break_s: int = 0
    rank: int = 0
    pails: tuple[PailLoad, ...] = ()
    pails_empty: int = 0
    moving: bool = False
    stranded: bool = False


@dataclass(frozen=True)
class Truck:
    """A truck with its crew. ``tare_kg`` has crew and fuel in, syrup and pails out.

    Fuel use is linear between empty (at tare) and full (at gross vehicle weight rating).
    ``shift`` None: the operation's own. ``available`` empty: every day. ``underway``: it is not at the
    start of its day.
    """

    truck_id: str
    start_depot: str
    end_depot: str
    gvwr_kg: float
    tare_kg: float
    fuel_empty_l_per_km: float
    fuel_full_l_per_km: float
    crew: int
    tanks: tuple[Tank, ...] = ()
    length_m: float | None = None
    pump_l_per_s: float | None = None
    pail_slots: int = 0
    shift: TimeWindow | None = None
    fixed_cost: float = 0.0
    idle_l_per_h: float = 3.18
    available: tuple[date, ...] = ()
    height_m: float | None = None
    width_m: float | None = None
    axle_kg: float | None = None
    underway: Underway | None = None

    def __post_init__(self) -> None:
        require(
            self.gvwr_kg > self.tare_kg > 0, f"truck {self.truck_id}: tare must lie under the legal gross"
        )
        require(self.crew >= 1, f"truck {self.truck_id}: someone has to drive")
        require(
            self.fuel_full_l_per_km >= self.fuel_empty_l_per_km > 0,
            f"truck {self.truck_id}: a full truck uses at least the fuel of an empty one",
        )

    @property
    def payload_kg(self) -> float:
        """What may lawfully be loaded."""
        return self.gvwr_kg - self.tare_kg

    def available_on(self, day: date) -> bool:
        """Whether the truck can be used on a date."""
        return not self.available or day in self.available
