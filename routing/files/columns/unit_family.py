"""Name each unit a column may be written in, and convert it to SI and back for messages."""

from __future__ import annotations

from dataclasses import dataclass

from routing.domain.units import KG_PER_LB, L_PER_US_GAL, M_PER_FOOT, M_PER_KM, M_PER_MILE, S_PER_H, S_PER_MIN

DECIMALS = 9
"""SI values are kept to this many decimals, so that 5 gal and 18.92705892 L are the same number."""


@dataclass(frozen=True)
class Unit:
    """A unit of the outside: ``si = value * factor + offset``, or ``factor / value`` when ``inverse``."""

    text: str
    factor: float = 1.0
    offset: float = 0.0
    inverse: bool = False

    def to_si(self, value: float) -> float:
        """The SI value. Raises ZeroDivisionError for 0 of an inverse unit (0 miles a gallon)."""
        si = self.factor / value if self.inverse else value * self.factor + self.offset
        return round(si, DECIMALS)

    def from_si(self, si: float) -> float:
        """The value in this unit; infinite for 0 of an inverse unit."""
        if self.inverse:
            return self.factor / si if si else float("inf")
        return (si - self.offset) / self.factor


@dataclass(frozen=True)
class Name:
    """One way to head a column, and the unit it is then in."""

    header: str
    unit: Unit


PLAIN = Unit("")
PERCENT = Unit("%", 0.01)
MINUTES = Unit("min", S_PER_MIN)
HOURS = Unit("h", S_PER_H)
SECONDS = Unit("s")
DAYS = Unit("days")

_LB = Unit("lb", KG_PER_LB)
_KG = Unit("kg")
_GAL = Unit("US gal", L_PER_US_GAL)
_L = Unit("L")
_FT = Unit("ft", M_PER_FOOT)
_M = Unit("m")
_F = Unit("F", 1 / 1.8, -32 / 1.8)
_C = Unit("C")


def plain(header: str, unit: Unit = PLAIN) -> tuple[Name, ...]:
    """A column with one name only."""
    return (Name(header, unit),)


def mass(stem: str, per: str = "") -> tuple[Name, ...]:
    """``tare_lb`` or ``tare_kg``."""
    return (Name(f"{stem}_lb{per}", _LB), Name(f"{stem}_kg{per}", _KG))


def volume(stem: str, per: str = "") -> tuple[Name, ...]:
    """``capacity_gal`` or ``capacity_l``."""
    return (Name(f"{stem}_gal{per}", _GAL), Name(f"{stem}_l{per}", _L))


def length(stem: str) -> tuple[Name, ...]:
    """``length_ft`` or ``length_m``."""
    return (Name(f"{stem}_ft", _FT), Name(f"{stem}_m", _M))


def temperature(stem: str) -> tuple[Name, ...]:
    """``temperature_f`` or ``temperature_c``."""
    return (Name(f"{stem}_f", _F), Name(f"{stem}_c", _C))


def pumping(stem: str) -> tuple[Name, ...]:
    """``fill_gpm`` or ``fill_lpm``, inside L/s."""
    return (
        Name(f"{stem}_gpm", Unit("US gal/min", L_PER_US_GAL / S_PER_MIN)),
        Name(f"{stem}_lpm", Unit("L/min", 1 / S_PER_MIN)),
    )


def fuel_use(load: str) -> tuple[Name, ...]:
    """``mpg_empty`` or ``l_per_100km_empty``, inside L/km."""
    mpg = L_PER_US_GAL / (M_PER_MILE / M_PER_KM)
    return (
        Name(f"mpg_{load}", Unit("miles/US gal", mpg, inverse=True)),
        Name(f"l_per_100km_{load}", Unit("L/100 km", 0.01)),
    )


def speed(stem: str) -> tuple[Name, ...]:
    """``speed_mph`` or ``speed_kmh``, inside km/h."""
    return (Name(f"{stem}_mph", Unit("mph", M_PER_MILE / M_PER_KM)), Name(f"{stem}_kmh", Unit("km/h")))


def per_volume(stem: str) -> tuple[Name, ...]:
    """``price_per_gal`` or ``price_per_l``."""
    return (
        Name(f"{stem}_per_gal", Unit("per US gal", 1 / L_PER_US_GAL)),
        Name(f"{stem}_per_l", Unit("per L")),
    )


def per_mass(stem: str) -> tuple[Name, ...]:
    """``price_per_lb`` or ``price_per_kg``."""
    return (Name(f"{stem}_per_lb", Unit("per lb", 1 / KG_PER_LB)), Name(f"{stem}_per_kg", Unit("per kg")))


def per_distance(stem: str) -> tuple[Name, ...]:
    """``vehicle_per_mi`` or ``vehicle_per_km``."""
    mile_km = M_PER_MILE / M_PER_KM
    return (Name(f"{stem}_per_mi", Unit("per mile", 1 / mile_km)), Name(f"{stem}_per_km", Unit("per km")))


DENSITY = (
    Name("density_kg_per_l", Unit("kg/L")),
    Name("density_lb_per_gal", Unit("lb/US gal", KG_PER_LB / L_PER_US_GAL)),
)
