"""Say weights, volumes and days in the operation's own units."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from math import floor

from routing.domain.units import KG_PER_LB, L_PER_US_GAL, fahrenheit

STEP_GAL, STEP_L = 0.05, 0.1


@dataclass(frozen=True)
class Wording:
    """How an operation (``us`` or ``metric``) says its numbers."""

    units: str

    @property
    def us(self) -> bool:
        """Whether pounds, US gallons and Fahrenheit are spoken."""
        return self.units == "us"

    @property
    def step_l(self) -> float:
        """The step to which a crew measures a dose, L: 0.05 gal or 0.1 L."""
        return STEP_GAL * L_PER_US_GAL if self.us else STEP_L

    def weight(self, kg: float) -> str:
        """A weight of honey or sugar per colony."""
        value, unit = (kg / KG_PER_LB, "lb") if self.us else (kg, "kg")
        return f"{_short(value)} {unit}"

    def volume(self, litres: float) -> str:
        """A volume of syrup, to a hundredth of a gallon or litre."""
        value, unit = (litres / L_PER_US_GAL, "gal") if self.us else (litres, "L")
        return f"{value:.2f} {unit}"

    def amount(self, litres: float) -> str:
        """A volume as a person asks for it: ``20 gal``, ``0.75 gal``."""
        value, unit = self.volume(litres).split(" ")
        return f"{value.rstrip('0').rstrip('.')} {unit}"

    def gross(self, kg: float) -> str:
        """What a truck weighs, to the pound or kilogram."""
        value, unit = (kg / KG_PER_LB, "lb") if self.us else (kg, "kg")
        return f"{value:,.0f} {unit}"

    def whole_below(self, litres: float) -> str:
        """A volume in whole gallons or litres, rounded down."""
        value, unit = (litres / L_PER_US_GAL, "gal") if self.us else (litres, "L")
        return f"{floor(value)} {unit}"

    def total(self, litres: float) -> str:
        """A volume for a whole yard: ``64 gal``, ``4.5 gal``."""
        value, unit = (litres / L_PER_US_GAL, "gal") if self.us else (litres, "L")
        return f"{_short(value).removesuffix('.0')} {unit}"

    def temperature(self, celsius_: float) -> str:
        """A temperature to the degree."""
        return f"{fahrenheit(celsius_):.0f} F" if self.us else f"{celsius_:.0f} C"

    def key(self, stem: str) -> str:
        """The name of a setting in kilograms or degrees C, as this operation writes it."""
        family = {"kg": "lb", "c": "f"} if self.us else {}
        head, _, unit = stem.rpartition("_")
        return f"{head}_{family.get(unit, unit)}"

    def rate_key(self, stem: str) -> str:
        """The name of a setting in litres per day, as this operation writes it."""
        return f"{stem}_gal_per_day" if self.us else f"{stem}_l_per_day"


_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def short_date(day: date) -> str:
    """A date as it is said within a season: 28 Sep."""
    return f"{day.day} {_MONTHS[day.month - 1]}"


def days(value: float) -> str:
    """A number of days as a person says it."""
    if value < 1:
        return "less than a day"
    return f"{value:.0f} day" if round(value) == 1 else f"{value:.0f} days"


def count(number: int, noun: str) -> str:
    """A number of things: 1 colony, 24 colonies."""
    if number == 1:
        return f"1 {noun}"
    return f"{number} {noun[:-1]}ies" if noun.endswith("y") else f"{number} {noun}s"


def sentence(text: str) -> str:
    """A reason or remedy with a capital at its beginning and a full stop at its end."""
    text = text.strip()
    return f"{text[:1].upper()}{text[1:]}{'' if text.endswith(('.', '!', '?')) else '.'}" if text else ""


def _short(value: float) -> str:
    """One decimal below ten, none above."""
    return f"{value:.1f}" if value < 9.95 else f"{value:.0f}"
