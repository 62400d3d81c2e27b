"""Work out a batch of sucrose syrup: sugar, water, true strength, and how it will behave."""

from __future__ import annotations

import re
from dataclasses import dataclass

from routing.domain.errors import FeedroundError, require
from routing.domain.supplies import Syrup, SyrupKind
from routing.domain.units import L_PER_US_GAL, celsius
from routing.need.keeping import COLD_PUMPING_C, HOT_C, may_crystallise, thickening_factor
from routing.need.mixing import Batch, VolumeBatch, mix_by_volume, mix_by_weight

AMOUNT = re.compile(r"\s*([0-9]*\.?[0-9]+)\s*(gal|L|l)\s*")
RATIO = re.compile(r"\s*([0-9]*\.?[0-9]+)\s*:\s*([0-9]*\.?[0-9]+)\s*")
TEMPERATURE = re.compile(r"\s*(-?[0-9]*\.?[0-9]+)\s*([FfCc])\s*")


@dataclass(frozen=True)
class Mixture:
    """A batch to mix, and what to beware of. ``measured``: by volume, with how strong it may turn out."""

    batch: Batch
    measured: VolumeBatch | None
    cautions: tuple[str, ...]
    us: bool


def mix(amount: str, ratio: str, at: str, *, by_volume: bool) -> Mixture:
    """Work out a batch from the words of a user.

    Parameters
    ----------
    amount
        Syrup wanted with its unit, ``500gal`` or ``1900L``.
    ratio
        Parts of sugar to parts of water, ``2:1``.
    at
        Temperature of storing and pumping with its unit, ``68F`` or ``20C``; 0 to 60 C.
    by_volume
        Whether the parts are volumes of dry sugar and water, not weights.

    Raises
    ------
    FeedroundError
        Where one of them cannot be read, with how to write it.
    """
    found = AMOUNT.fullmatch(amount)
    if not found:
        raise FeedroundError(f"{amount}: not an amount of syrup: write a number and gal or L, as 500gal")
    us = found[2] == "gal"
    volume_l = float(found[1]) * (L_PER_US_GAL if us else 1.0)
    sugar, water = _ratio(ratio)
    temperature_c = _temperature(at)
    measured = mix_by_volume(volume_l, sugar, water, temperature_c=temperature_c) if by_volume else None
    batch = measured.batch if measured else mix_by_weight(volume_l, sugar, water, temperature_c)
    return Mixture(batch, measured, tuple(_notes(batch, temperature_c)), us)


def _ratio(text: str) -> tuple[float, float]:
    found = RATIO.fullmatch(text)
    if not found:
        raise FeedroundError(f"{text}: not a ratio: write parts of sugar to parts of water, as 2:1")
    return float(found[1]), float(found[2])


def _temperature(text: str) -> float:
    found = TEMPERATURE.fullmatch(text)
    if not found:
        raise FeedroundError(f"{text}: not a temperature: write a number and F or C, as 68F")
    degrees = float(found[1])
    temperature_c = celsius(degrees) if found[2] in "Ff" else degrees
    require(0 <= temperature_c <= 60, f"{text}: syrup densities are known from 0 to 60 C (32 to 140 F)")
    return temperature_c


def _notes(batch: Batch, temperature_c: float) -> list[str]:
    syrup = Syrup("batch", SyrupKind.SUCROSE, batch.solids)
    notes = []
    if may_crystallise(syrup, temperature_c):
        notes.append("sugar may crystallise at that temperature: keep it warmer or mix it thinner")
    thicker = thickening_factor(batch.solids, temperature_c)
    if thicker > 1.5:
        notes.append(f"it is {thicker:.1f} times as thick as at 20 C (68 F): pumps and guns run slower")
    if temperature_c < COLD_PUMPING_C:
        notes.append("colonies take no liquid feed when it is that cold")
    if temperature_c > HOT_C:
        notes.append("heat spoils syrup (HMF harms bees): store it cooler, and never boil it")
    notes.append(
        "sugar is dissolved in hot water, which scalds in seconds from 60 C (140 F): keep lids and gloves on"
    )
    return notes
