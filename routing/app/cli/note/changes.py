"""What changes the day besides the rounds: trucks and places that fail, calls, and supplies."""

from __future__ import annotations

from typing import Annotated

import typer

from routing.app.cli.note.event_verb import Made
from routing.app.cli.note.options import Amount, DepotId, Lot, SyrupId, TruckName, Until, Why, Words, YardId
from routing.app.cli.note.reading import depot_of, place, syrup_of, truck_id_of, until_when, yard_of
from routing.domain.errors import ValueRefused
from routing.domain.operation import Operation
from routing.files.log.words import said
from routing.files.log.words import volume_l as read_volume_l
from routing.log.complete.complete import Known, Said
from routing.log.facts import DepotClosed, Mixed, Received, TruckBack, TruckOut, Urgent, YardClosed


def out(known: Known, truck: TruckName, why: Why = None) -> Made:
    """A truck cannot go on.

    Example: feedround note my-bees out heavy clutch gone
    """
    return truck_id_of(known.operation, truck), TruckOut(" ".join(why or ()))


def back(known: Known, truck: TruckName, why: Why = None) -> Made:
    """A truck is back in use, or joins the day.

    Example: feedround note my-bees back heavy
    """
    return truck_id_of(known.operation, truck), TruckBack(" ".join(why or ()))


def closed(
    known: Known,
    where: Annotated[str, typer.Argument(metavar="PLACE", help="Yard or depot.")],
    why: Why = None,
    until: Until = "",
) -> Made:
    """A depot or a yard cannot be used.

    Example: feedround note my-bees closed Y20 bridge out --until 13:00
    """
    kind, _, place_id = place(known.operation, where).partition(":")
    again, words = until_when(known, until), " ".join(why or ())
    return "", DepotClosed(place_id, again, words) if kind == "depot" else YardClosed(place_id, again, words)


def urgent(
    known: Known,
    yard: YardId,
    amount: Annotated[
        str, typer.Argument(metavar="[AMOUNT]", help="20gal in all, or 10x1gal (default: what it needs).")
    ] = "",
    words: Words = "",
) -> Made:
    """A yard must be fed today, planned or not.

    Example: feedround note my-bees urgent Y30 20gal
    """
    operation = known.operation
    yard_id = yard_of(operation, yard)
    part = said(amount, operation.units) if amount.strip() else Said()
    _check_call(operation, yard_id, amount, part)
    return "", Urgent(yard_id, part.count, part.each_l, words, part.total_l)


def _check_call(operation: Operation, yard_id: str, amount: str, part: Said) -> None:
    """Raise ValueRefused where a call asks for more than a whole yard and its own syrup."""
    if part.name or part.full:
        raise ValueRefused(
            f"{amount!r}: a call is for the whole yard: say it like 20gal, 12/20gal or 10x1gal"
        )
    if part.syrup_id:
        usual = list(dict.fromkeys(group.syrup_id for group in operation.groups_of(yard_id)))
        if usual != [syrup_of(operation, part.syrup_id)]:
            raise ValueRefused(
                f"{yard_id} is fed {' and '.join(usual) or 'nothing'} (colonies.csv), so that a call cannot "
                f"ask for {part.syrup_id}: leave the syrup out, or change syrup_id there"
            )


def mixed(
    known: Known, depot: DepotId, syrup: SyrupId, amount: Amount, lot: Lot = "", words: Words = ""
) -> Made:
    """Syrup was mixed at a depot; say from what with --words.

    Example: feedround note my-bees mixed base 2to1 300gal --lot B-7
    """
    return "", Mixed(*_supply(known.operation, depot, syrup, amount), lot, words)


def received(
    known: Known,
    depot: DepotId,
    syrup: SyrupId,
    amount: Amount,
    lot: Lot = "",
    supplier: Annotated[str, typer.Option("--from", help="Supplier.")] = "",
    words: Words = "",
) -> Made:
    """Syrup was delivered to a depot.

    Example: feedround note my-bees received base hfcs55 900gal --lot H-3
    """
    return "", Received(*_supply(known.operation, depot, syrup, amount), lot, supplier, words)


def _supply(operation: Operation, depot: str, syrup: str, amount: str) -> tuple[str, str, float]:
    """Depot, syrup and litres of what came to a depot."""
    depot_id, syrup_id = depot_of(operation, depot), syrup_of(operation, syrup)
    return depot_id, syrup_id, read_volume_l(amount, operation.units)
