"""What a run found, where it ran, and how far it is from the best."""

from __future__ import annotations

import os
import platform
from collections.abc import Sequence
from dataclasses import dataclass
from importlib.metadata import version


@dataclass(frozen=True)
class Run:
    """One plan of one contestant: its exact price (starving yards left weigh in), and what it left.

    ``trace`` holds (seconds, price) of each better plan, where the contestant tells of them; ``troubles``
    are engines that hung or died.
    """

    day: str
    contestant: str
    seed: int
    price: float
    unserved: int
    seconds: float
    trace: tuple[tuple[float, float], ...] = ()
    troubles: tuple[str, ...] = ()


def gap(price: float, best: float) -> float:
    """Per cent above the best."""
    return 100.0 * (price / best - 1.0)


def mean(values: Sequence[float]) -> float:
    """The mean of some numbers."""
    return sum(values) / len(values)


def setting() -> str:
    """Where it ran: cores, Python, versions, and whether others were using the machine."""
    load = os.getloadavg()[0] if hasattr(os, "getloadavg") else 0.0
    cores = os.cpu_count() or 1
    busy = " Others were using the machine meanwhile." if load > cores * 0.75 + 1 else ""
    names = ", ".join(
        f"{name} {version(dist)}" for name, dist in (("PyVRP", "pyvrp"), ("OR-Tools", "ortools"))
    )
    return (
        f"{cores} cores, Python {platform.python_version()}, {names}, feedround {version('feedround')}.{busy}"
    )
