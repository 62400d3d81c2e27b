"""Write quantities, times and coordinates the way the operation reads them.

Inside everything is SI; this is the one place in reports/ where numbers become text in the user's units.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from routing.domain.clock import TimeWindow
from routing.domain.plan import Stop
from routing.domain.units import (
    DAY_S,
    KG_PER_LB,
    L_PER_US_GAL,
    M_PER_FOOT,
    M_PER_KM,
    M_PER_MILE,
    fahrenheit,
)

WHOLE_CURRENCIES = frozenset({"JPY", "KRW", "CLP", "ISK", "VND", "PYG", "XAF", "XOF"})
"""ISO 4217 currencies printed without a decimal (the usual ones; from memory)."""


@dataclass(frozen=True)
class Units:
    """The family of units an operation reads (``us`` or ``metric``), and its currency."""

    family: str = "metric"
    currency: str = ""

    @property
    def us(self) -> bool:
        """Whether US customary units are shown."""
        return self.family == "us"

    @property
    def volume_unit(self) -> str:
        """Short name of the unit of volume."""
        return "gal" if self.us else "L"

    @property
    def mass_unit(self) -> str:
        """Short name of the unit of mass."""
        return "lb" if self.us else "kg"

    @property
    def distance_unit(self) -> str:
        """Short name of the unit of road distance."""
        return "mi" if self.us else "km"

    def volume_value(self, volume_l: float) -> float:
        """Litres in the shown unit."""
        return volume_l / L_PER_US_GAL if self.us else volume_l

    def mass_value(self, mass_kg: float) -> float:
        """Kilograms in the shown unit."""
        return mass_kg / KG_PER_LB if self.us else mass_kg

    def distance_value(self, distance_m: float) -> float:
        """Metres in the shown unit of road distance."""
        return distance_m / (M_PER_MILE if self.us else M_PER_KM)

    def volume(self, volume_l: float, digits: int = 1) -> str:
        """``132.1 gal`` or ``500.0 L``."""
        return f"{number(self.volume_value(volume_l), digits)} {self.volume_unit}"

    def volume_each(self, volume_l: float, colonies: int = 1) -> str:
        """Syrup per colony, to the hundredth: small amounts must not round away.

        To the thousandth where so many ``colonies`` would not make the total beside it: 32 x 0.625 gal are
        20 gal, 32 x 0.62 are not.
        """
        value = self.volume_value(volume_l)
        return self.volume(volume_l, 3 if abs(value - round(value, 2)) * colonies >= 0.05 else 2)

    def mass(self, mass_kg: float, digits: int = 0) -> str:
        """``10,000 lb`` or ``4,536 kg``."""
        return f"{number(self.mass_value(mass_kg), digits)} {self.mass_unit}"

    def distance(self, distance_m: float, digits: int = 1) -> str:
        """Road distance: ``12.4 mi`` or ``20.0 km``."""
        return f"{number(self.distance_value(distance_m), digits)} {self.distance_unit}"

    def length(self, length_m: float, digits: int = 1) -> str:
        """Length of a truck or a gate: ``26.2 ft`` or ``8.0 m``."""
        value, unit = (length_m / M_PER_FOOT, "ft") if self.us else (length_m, "m")
        return f"{number(value, digits)} {unit}"

    def fuel(self, fuel_l: float, stops: Iterable[Stop]) -> str:
        """``12.4 gal of fuel``, and how much climbing is in it where heights are known."""
        climb_m = sum(stop.leg.climb_m for stop in stops)
        climbs = f" ({self.length(climb_m, 0)} of climbing in it)" if climb_m else ""
        return f"{self.volume(fuel_l)} of fuel{climbs}"

    def temperature(self, celsius: float) -> str:
        """``50 °F`` or ``10 °C``."""
        return f"{number(fahrenheit(celsius))} °F" if self.us else f"{number(celsius)} °C"

    def money(self, amount: float) -> str:
        """``1,234.50 USD``: the code, never a sign that several countries share."""
        digits = 0 if self.currency in WHOLE_CURRENCIES else 2
        return f"{number(amount, digits)} {self.currency}".rstrip()


def number(value: float, digits: int = 0) -> str:
    """A number with thousands separated, and never ``-0``."""
    text = f"{value:,.{digits}f}"
    return text.removeprefix("-") if not text.strip("-0.,") else text


def hhmm(moment: datetime, timezone: str, day: date | None = None) -> str:
    """Local ``HH:MM``, seconds cut off: a visit within its gate hours never reads as outside them.

    With ``day`` (the feeding date), another date is said: ``00:40 (+1 day)``.
    """
    local = moment.astimezone(ZoneInfo(timezone))
    shift = (local.date() - day).days if day else 0
    text = f"{local:%H:%M}"
    return text if not shift else f"{text} ({shift:+d} day{'s' if abs(shift) > 1 else ''})"


def duration(seconds: float) -> str:
    """``2 h 05 min`` or ``35 min``, to the nearest minute."""
    hours, minutes = divmod(round(seconds / 60), 60)
    return f"{hours} h {minutes:02d} min" if hours else f"{minutes} min"


def hours(seconds: float) -> str:
    """``7.5 h``."""
    return f"{number(seconds / 3600, 1)} h"


def window(opening: TimeWindow) -> str:
    """``06:30-11:00``; the end of a window over midnight is told as the next day's clock."""
    return "-".join(_wall(s) for s in (opening.start_s, opening.end_s))


def windows(openings: Iterable[TimeWindow]) -> str:
    """All gate hours of a place in one line; no windows at all is ``any time``."""
    return ", ".join(window(opening) for opening in openings) or "any time"


def _wall(seconds: int) -> str:
    if seconds == DAY_S:
        return "24:00"
    minutes = seconds % DAY_S // 60
    return f"{minutes // 60:02d}:{minutes % 60:02d}"


def decimal_degrees(lat: float, lon: float) -> str:
    """``44.512340, -93.101200``: six decimals, about 0.1 m."""
    return f"{lat:.6f}, {lon:.6f}"


def dms(lat: float, lon: float) -> str:
    """Degrees, minutes, seconds to a tenth (about 3 m): ``44°30'44.4" N 93°06'04.3" W``."""
    return f"{_sexagesimal(lat)} {'S' if lat < 0 else 'N'} {_sexagesimal(lon)} {'W' if lon < 0 else 'E'}"


def _sexagesimal(degrees: float) -> str:
    # Rounded as one whole number of tenths, so that 59.96 seconds carries and never reads 60.0.
    tenths = round(abs(degrees) * 36_000)
    whole, rest = divmod(tenths, 36_000)
    minutes, rest = divmod(rest, 600)
    return f"{whole}°{minutes:02d}'{rest // 10:02d}.{rest % 10}\""


def geo_uri(lat: float, lon: float) -> str:
    """The place as a ``geo:`` link (RFC 5870)."""
    return f"geo:{lat:.6f},{lon:.6f}"


def plural(count: int, singular: str, several: str = "") -> str:
    """``1 yard``, ``3 yards``."""
    return f"{count:,} {singular if count == 1 else several or singular + 's'}"
