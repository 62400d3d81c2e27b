"""Work out a batch of sucrose syrup: sugar, water, true strength, and how it will behave."""

from __future__ import annotations

import re
from dataclasses import asdict
from typing import Annotated, Any

import typer
from rich.console import Console

from routing.domain.errors import FeedroundError, require
from routing.domain.supplies import Syrup, SyrupKind
from routing.domain.units import L_PER_US_GAL, celsius
from routing.need.keeping import COLD_PUMPING_C, HOT_C, may_crystallise, thickening_factor
from routing.need.mixing import Batch, mix_by_volume, mix_by_weight
from routing.reports.words.format import Units

AMOUNT = re.compile(r"\s*([0-9]*\.?[0-9]+)\s*(gal|L|l)\s*")
RATIO = re.compile(r"\s*([0-9]*\.?[0-9]+)\s*:\s*([0-9]*\.?[0-9]+)\s*")
TEMPERATURE = re.compile(r"\s*(-?[0-9]*\.?[0-9]+)\s*([FfCc])\s*")


def mix(
    amount: Annotated[str, typer.Argument(help="Syrup wanted, with its unit: 500gal or 1900L.")],
    ratio: Annotated[str, typer.Option(help="Parts of sugar to parts of water, as 2:1.")] = "2:1",
    by_volume: Annotated[
        bool, typer.Option("--by-volume", help="The parts are volumes of dry sugar and water, not weights.")
    ] = False,
    at: Annotated[str, typer.Option(help="Temperature it will be stored and pumped at, 68F or 20C.")] = "20C",
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON (kg, L) instead of words.")] = False,
) -> None:
    """Sugar and water for a batch of syrup, by weight or by volume."""
    found = AMOUNT.fullmatch(amount)
    if not found:
        raise FeedroundError(f"{amount}: not an amount of syrup: write a number and gal or L, as 500gal")
    us = found[2] == "gal"
    volume_l = float(found[1]) * (L_PER_US_GAL if us else 1.0)
    sugar, water = _ratio(ratio)
    temperature_c = _temperature(at)
    extra: dict[str, Any] = {}
    if by_volume:
        measured = mix_by_volume(volume_l, sugar, water, temperature_c=temperature_c)
        batch = measured.batch
        extra = {
            "sugar_l": measured.sugar_l,
            "solids_low": measured.solids_low,
            "solids_high": measured.solids_high,
        }
    else:
        batch = mix_by_weight(volume_l, sugar, water, temperature_c)
    notes = _notes(batch, temperature_c)
    if as_json:
        import json

        typer.echo(json.dumps({**asdict(batch), **extra, "cautions": notes}, indent=2))
        return
    _show(batch, extra, notes, Units("us" if us else "metric"))


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
        notes.append("at that temperature sugar may crystallise out: keep it warmer or mix it thinner")
    thicker = thickening_factor(batch.solids, temperature_c)
    if thicker > 1.5:
        notes.append(f"it is {thicker:.1f} times as thick as at 20 C (68 F): pumps and guns run slower")
    if temperature_c < COLD_PUMPING_C:
        notes.append("colonies take no liquid feed in such cold")
    if temperature_c > HOT_C:
        notes.append("heat spoils syrup (HMF harms bees): do not store it so warm, and never boil it")
    notes.append("sugar dissolves in hot water: it scalds in seconds from 60 C (140 F); lids on, gloves on")
    return notes


def _show(batch: Batch, extra: dict[str, Any], notes: list[str], units: Units) -> None:
    console = Console(highlight=False)
    sugar = units.mass(batch.sugar_kg)
    if extra:
        sugar += f" ({units.volume(extra['sugar_l'])} of dry sugar)"
    console.print(f"Syrup    {units.volume(batch.volume_l)}, {units.mass(batch.sugar_kg + batch.water_kg)}")
    console.print(f"Sugar    {sugar}")
    console.print(f"Water    {units.volume(batch.water_l)} ({units.mass(batch.water_kg)})")
    strength = f"{batch.solids * 100:.1f} % sugar by weight"
    if extra:
        strength += (
            f" ({extra['solids_low'] * 100:.1f} to {extra['solids_high'] * 100:.1f}, as the sugar settles)"
        )
    console.print(f"Strength {strength}")
    for note in notes:
        console.print(f" - {note}", soft_wrap=True)
