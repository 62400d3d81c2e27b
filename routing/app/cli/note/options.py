"""The words and options that the verbs of a note share, with what ``--help`` says of them."""

from __future__ import annotations

from typing import Annotated

import typer

TruckId = Annotated[str, typer.Option("--truck", "-t", envvar="FEEDROUND_TRUCK", help="Truck id.")]
At = Annotated[str, typer.Option("--at", "-a", help="When it happened, HH:MM (default: now).")]
Id = Annotated[str, typer.Option("--id", help="For programs: a UUID; repeating it adds nothing.")]
Corrects = Annotated[
    str,
    typer.Option("--corrects", "-c", help="Replace the note with this id, or the start of it."),
]
Words = Annotated[str, typer.Option("--words", "-w", help="Free text.")]
Lot = Annotated[str, typer.Option("--lot", help="Syrup lot.")]
MeterText = Annotated[str, typer.Option("--meter", "-m", help="Meter before and after, like 1200-1280.")]
Until = Annotated[str, typer.Option("--until", "-u", help="Until HH:MM (default: the rest of the day).")]
Amounts = Annotated[
    list[str] | None,
    typer.Argument(help="80gal in all; 38/80gal into 38 colonies; 40x2gal; weak=10/12gal by group."),
]
Loads = Annotated[
    list[str] | None, typer.Argument(help="Tank by tank: front=300gal rear=full pails=12x2gal.")
]
Alive = Annotated[list[str] | None, typer.Option(help="Colonies found alive: 38, or by group weak=9.")]
Light = Annotated[list[str] | None, typer.Option(help="Colonies found light: 6, or by group weak=4.")]
YardId = Annotated[str, typer.Argument(metavar="YARD", help="Yard id or name.")]
DepotId = Annotated[str, typer.Argument(metavar="DEPOT", help="Depot id or name.")]
TruckName = Annotated[str, typer.Argument(metavar="TRUCK", help="Truck id.")]
SyrupId = Annotated[str, typer.Argument(metavar="SYRUP", help="Syrup id.")]
Amount = Annotated[str, typer.Argument(metavar="AMOUNT", help="Amount, like 300gal.")]
Why = Annotated[list[str] | None, typer.Argument(help="Reason, in words.")]
