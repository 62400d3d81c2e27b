"""The verb that works out a batch of sucrose syrup: parse and show."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Annotated

import typer

from routing.app.cli.shared.screen import emit, screen

if TYPE_CHECKING:
    from routing.app.workflow.mix import Mixture


def mix(
    amount: Annotated[str, typer.Argument(help="Amount of syrup with its unit: 500gal or 1900L.")],
    ratio: Annotated[str, typer.Option(help="Sugar to water, like 2:1.")] = "2:1",
    by_volume: Annotated[
        bool, typer.Option("--by-volume", help="Measure the parts by volume, not by weight.")
    ] = False,
    at: Annotated[str, typer.Option(help="Storage and pumping temperature: 68F or 20C.")] = "20C",
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON (kg, L) instead of text.")] = False,
) -> None:
    """Work out sugar and water for a batch of syrup.

    Example: feedround mix 500gal --ratio 2:1 --at 68F
    """
    from routing.app.workflow.mix import mix as worked_out

    made = worked_out(amount, ratio, at, by_volume=by_volume)
    if as_json:
        measured = made.measured
        extra = {} if measured is None else {k: v for k, v in asdict(measured).items() if k != "batch"}
        emit({**asdict(made.batch), **extra, "cautions": made.cautions})
        return
    _show(made)


def _show(made: Mixture) -> None:
    from routing.reports.words.format import Units

    batch, measured, units = made.batch, made.measured, Units("us" if made.us else "metric")
    console = screen()
    sugar, strength = units.mass(batch.sugar_kg), f"{batch.solids * 100:.1f} % sugar by weight"
    if measured is not None:
        low, high = measured.solids_low * 100, measured.solids_high * 100
        sugar += f" ({units.volume(measured.sugar_l)} of dry sugar)"
        strength += f" ({low:.1f} to {high:.1f}, as the sugar settles)"
    console.print(f"Syrup    {units.volume(batch.volume_l)}, {units.mass(batch.sugar_kg + batch.water_kg)}")
    console.print(f"Sugar    {sugar}")
    console.print(f"Water    {units.volume(batch.water_l)} ({units.mass(batch.water_kg)})")
    console.print(f"Strength {strength}")
    for note in made.cautions:
        console.print(f" - {note}", soft_wrap=True)
