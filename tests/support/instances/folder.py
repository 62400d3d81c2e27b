"""Find the folder of published instances that are too many to come with the project."""

from __future__ import annotations

import os
from pathlib import Path

VARIABLE = "FEEDROUND_BENCHMARKS"
BESIDE = Path(__file__).parents[4] / "shared" / "benchmarks"
ROUNDING = {
    "MTVRPTWR": "trunc1",
    "HFVRP": "exact",
    "SDVRPTW": "exact",
    "MDVRPTW": "exact",
    "PCVRPTW": "trunc1",
    "CVRP": "round",
    "small": "trunc1",
}
"""How the distances of each set are rounded, by the name of its folder."""


def instance_folder(given: str | None = None) -> Path | None:
    """The folder given, else that of the environment variable, else one beside the checkout, else None."""
    for name in (given, os.environ.get(VARIABLE)):
        if name:
            folder = Path(name)
            return folder if folder.is_dir() else None
    return BESIDE if BESIDE.is_dir() else None


def missing(given: str | None = None) -> str:
    """What to say where there is no such folder."""
    named = given or os.environ.get(VARIABLE)
    place = f"{named} is no folder" if named else f"none given by --data or {VARIABLE}, none at {BESIDE}"
    return f"no folder of published instances ({place})"
