"""Read the short words of a note: amounts with their unit, meters, counts by group, ids, reasons."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping

from routing.domain.errors import ValueRefused
from routing.domain.units import L_PER_US_GAL
from routing.files.problems.problems import suggest
from routing.log.complete.complete import Said
from routing.log.facts import Meter, SkipReason

MOST_L = 100_000.0
"""More than any truck or depot holds: a slip of the finger."""

_UNITS = {
    "": None, "gal": L_PER_US_GAL, "gals": L_PER_US_GAL, "gallon": L_PER_US_GAL, "gallons": L_PER_US_GAL,
    "g": L_PER_US_GAL, "l": 1.0, "lt": 1.0, "ltr": 1.0, "liter": 1.0, "liters": 1.0, "litre": 1.0,
    "litres": 1.0,
}  # fmt: skip
_AMOUNT = re.compile(r"(\d+(?:\.\d*)?|\.\d+)\s*([a-z]*)", re.IGNORECASE | re.ASCII)
_NAMED = re.compile(r"(?:(?P<name>[^=]+)=)?(?:(?P<syrup>[^:=]+):)?(?P<rest>.+)", re.DOTALL)
_COUNTED = re.compile(
    r"(?:(?P<count>\d{1,6})\s*(?P<mark>[x*/]))?\s*(?P<amount>.*)", re.IGNORECASE | re.ASCII | re.DOTALL
)


def volume_l(text: str, units: str) -> float:
    """Litres in ``120gal``, ``450L`` or ``120`` (then in the operation's units). Raises ValueRefused."""
    found = _AMOUNT.fullmatch(text.strip())
    unit = found[2].lower() if found else ""
    if re.match(r"-\s*\.?\d", text.strip()):
        raise ValueRefused(f"{text!r} is below nothing: amounts are from 0 up, as 120gal or 450L")
    if not found or unit not in _UNITS:
        raise ValueRefused(f"{text!r} is no amount: write it like 120gal or 450L")
    factor = _UNITS[unit]
    if factor is None:
        factor = L_PER_US_GAL if units == "us" else 1.0
    litres = round(float(found[1]) * factor, 6)
    if litres > MOST_L:
        raise ValueRefused(f"{text!r} is more than anything holds: check the number and its unit")
    return litres


def said(text: str, units: str) -> Said:
    """One amount of a note: ``80gal``, ``38/80gal`` (38 colonies, 80 in all), ``40x2gal`` (2 for each),

    with a group or tank before ``=``, and a syrup before ``:``: ``weak=10/12gal``, ``rear=hfcs55:120gal``,
    ``front=full``, ``pails=12x2gal``, ``weak=9x`` (as planned for 9). Raises ValueRefused.
    """
    parts = _NAMED.fullmatch(text.strip())
    if parts is None:
        raise ValueRefused(f"{text!r} is no amount: write it like 80gal, 38/80gal or weak=10/12gal")
    name, syrup = (parts["name"] or "").strip(), (parts["syrup"] or "").strip()
    rest = parts["rest"].strip()
    if rest.lower() == "full":
        return Said(name, syrup_id=syrup, full=True)
    counted = _COUNTED.fullmatch(rest)
    assert counted is not None
    count = int(counted["count"]) if counted["count"] else None
    if count is not None and not counted["amount"]:
        return Said(name, count, syrup_id=syrup)
    amount = volume_l(counted["amount"], units)
    if counted["mark"] in ("x", "X", "*"):
        return Said(name, count, each_l=amount, syrup_id=syrup)
    return Said(name, count, total_l=amount, syrup_id=syrup)


def meter(text: str, units: str) -> Meter:
    """``1200-1280``: what the meter read before and after. Raises ValueRefused."""
    ends = re.split(r"\s*-\s*", text.strip())
    if len(ends) != 2 or not all(ends):
        raise ValueRefused(f"{text!r} is no meter reading: write start and end like 1200-1280")
    unit = re.sub(r"[\d.\s]", "", ends[1])
    first = ends[0] if re.search(r"[a-z]", ends[0], re.IGNORECASE) else ends[0] + unit
    return Meter(volume_l(first, units), volume_l(ends[1], units))


def counts(texts: Iterable[str], what: str) -> dict[str, int]:
    """Colonies by group: ``38`` (no group named) or ``weak=9``. Raises ValueRefused."""
    found: dict[str, int] = {}
    for text in texts:
        name, equals, number = text.rpartition("=")
        if not re.fullmatch(r"\d{1,6}", number.strip(), re.ASCII) or (equals and not name.strip()):
            raise ValueRefused(f"{what}: {text!r} is no count: write 38 or weak=9")
        found[name.strip()] = int(number)
    return found


def minutes(text: str) -> int:
    """Seconds in ``30``, ``30min`` or ``1h`` or ``1:15``. Raises ValueRefused."""
    clean = text.strip().lower()
    if found := re.fullmatch(r"(\d{1,2}):(\d{2})", clean, re.ASCII):
        return int(found[1]) * 3600 + int(found[2]) * 60
    if found := re.fullmatch(r"(\d{1,4})\s*(?:m|min|minutes)?", clean, re.ASCII):
        return int(found[1]) * 60
    if found := re.fullmatch(r"(\d(?:\.\d+)?)\s*h", clean, re.ASCII):
        return round(float(found[1]) * 3600)
    raise ValueRefused(f"{text!r} is no length of time: write minutes, as 30, or 1:15")


def reason(text: str) -> SkipReason:
    """A reason from the list, or the beginning of one. Raises ValueRefused."""
    word = "_".join(text.strip().lower().replace("-", " ").split())
    found = [r for r in SkipReason if word and r.value.startswith(word)]
    if word in SkipReason.__members__.values():
        return SkipReason(word)
    if len(found) == 1:
        return found[0]
    raise ValueRefused(f"{text!r} is no reason of the list: {', '.join(SkipReason)}")


def known_id(text: str, names: Mapping[str, str], kind: str) -> str:
    """The id meant: as written, else in any letter case, else by its name. Raises ValueRefused."""
    wanted = text.strip()
    if wanted in names:
        return wanted
    low = wanted.casefold()
    for found in (
        [known for known in names if known.casefold() == low],
        [known for known, name in names.items() if name.casefold() == low],
    ):
        if len(found) == 1:
            return found[0]
    raise ValueRefused(f"there is no {kind} {wanted}: {suggest(wanted, list(names), kind + 's')}")
