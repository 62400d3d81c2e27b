"""Get travel distances and times by the method that the operation names."""

from __future__ import annotations

from pathlib import Path

from routing.domain.errors import FeedroundError
from routing.domain.operation import Operation
from routing.domain.travel import Travel
from routing.travel.straight import straight_travel

LATER = {"roads": "a road extract", "engine": "a routing engine", "server": "a routing server"}
"""Methods that operation.toml may name and this version cannot do yet, and what each would draw on."""


def travel_for(operation: Operation, folder: Path | None = None) -> Travel:
    """Travel by ``operation.travel.method``; files the settings name are looked for in ``folder``.

    Raises FeedroundError when the method is not one that works today.
    """
    method = operation.travel.method
    if method == "straight":
        return straight_travel(operation)
    today = 'set method = "straight" (straight lines times circuity), the one that works today'
    if method in LATER:
        raise FeedroundError(
            f'operation.toml [travel] method = "{method}": '
            f"drives from {LATER[method]} cannot be had yet: {today}"
        )
    raise FeedroundError(f'operation.toml [travel] method = "{method}": no such method: {today}')
