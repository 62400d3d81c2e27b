"""Read the values of OpenStreetMap tags: access, weights, lengths, speeds."""

from __future__ import annotations

import re
from collections.abc import Mapping

from routing.domain.units import KG_PER_LB, M_PER_FOOT, M_PER_KM, M_PER_MILE

OPEN, ENDS, CLOSED = 0, 1, 2
"""Access for a beekeeper's truck: any drive, only the first and last stretch of one, none."""

_OPEN = frozenset({"yes", "permissive", "designated", "official", "agricultural", "forestry", "unknown"})
_CLOSED = frozenset({"no", "military", "emergency", "bus", "psv", "taxi", "restricted", "use_sidepath"})
_ACCESS_KEYS = ("motor_vehicle", "vehicle", "access")

KG_PER_TONNE = 1000.0
KG_PER_SHORT_TON = 2000 * KG_PER_LB
_MASS_UNITS = {
    "": KG_PER_TONNE,
    "t": KG_PER_TONNE,
    "kg": 1.0,
    "st": KG_PER_SHORT_TON,
    "lb": KG_PER_LB,
    "lbs": KG_PER_LB,
}
"""Tonnes where no unit is written: OpenStreetMap wiki, Key:maxweight."""

_NUMBER = r"(\d+(?:[.,]\d+)?)"
_FEET = re.compile(rf"^(\d+)\s*(?:'|ft|feet)\s*(?:{_NUMBER}\s*(?:\"|''|in)?)?$")
_PLAIN = re.compile(rf"^{_NUMBER}\s*([a-z/]*)$")
_RURAL_KM_PER_H, _URBAN_KM_PER_H = 100, 50


def access_level(tags: Mapping[str, str]) -> int:
    """OPEN, ENDS or CLOSED by the most specific key that is there, goods traffic left aside.

    Keys from the most specific: motor_vehicle, vehicle, access (OpenStreetMap wiki, Key:access).
    """
    for key in _ACCESS_KEYS:
        if value := tags.get(key):
            return value_level(value)
    return OPEN


def value_level(value: str) -> int:
    """OPEN, ENDS or CLOSED for one value; of several, the most open."""
    return min(_level(part.strip().lower()) for part in value.split(";"))


def _level(word: str) -> int:
    if word in _OPEN:
        return OPEN
    return CLOSED if word in _CLOSED else ENDS


def mass_kg(text: str | None) -> float | None:
    """A posted mass; None where there is none or nobody can tell (``default``, ``none``)."""
    if text is None or (found := _PLAIN.match(text.strip().lower())) is None:
        return None
    factor = _MASS_UNITS.get(found[2])
    return None if factor is None else _decimal(found[1]) * factor


def length_m(text: str | None) -> float | None:
    """A posted height or length: metres, or feet and inches; None where nobody can tell."""
    if text is None:
        return None
    word = text.strip().lower()
    if feet := _FEET.match(word):
        return (int(feet[1]) + _decimal(feet[2] or "0") / 12) * M_PER_FOOT
    found = _PLAIN.match(word)
    if found is None or found[2] not in ("", "m", "cm"):
        return None
    return _decimal(found[1]) * (0.01 if found[2] == "cm" else 1.0)


def speed_km_per_h(text: str | None) -> float | None:
    """A posted speed; None where there is none (``none``, ``signals``) or nobody can tell."""
    if text is None:
        return None
    word = text.split(";")[0].strip().lower()
    if word == "walk":
        return 7.0
    if ":" in word:
        if word.endswith(":urban"):
            return _URBAN_KM_PER_H
        return _RURAL_KM_PER_H if word.endswith(":rural") else None
    found = _PLAIN.match(word)
    if found is None or found[2] not in ("", "km/h", "kmh", "kph", "mph"):
        return None
    speed = _decimal(found[1]) * (M_PER_MILE / M_PER_KM if found[2] == "mph" else 1.0)
    return speed if speed >= 1 else None


def _decimal(text: str) -> float:
    return float(text.replace(",", "."))
