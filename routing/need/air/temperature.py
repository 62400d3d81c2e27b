"""The air temperature that feeding in a yard is judged by."""

from __future__ import annotations

from routing.domain.operation import Operation
from routing.domain.places import Yard


def temperature_of(yard: Yard, operation: Operation) -> float:
    """Air temperature by day in a yard, degrees C: its own, else the operation's."""
    own = yard.temperature_c
    return operation.feeding.temperature_c if own is None else own
