"""List the published instances at hand, set by set, with their rounding and the best value known."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from tests.support.instances.best_known import KNOWN
from tests.support.instances.folder import ROUNDING, instance_folder, missing
from tests.support.instances.instance import Instance, UnreadableInstance
from tests.support.instances.run import best_known, read
from tests.support.instances.solver_easy import data_folder
from tests.support.instances.typed_in import several_trips

PACKAGED = {
    "CVRP": ("CVRP/E-n51-k5.vrp",),
    "VRPTW": tuple(
        f"CVRPTW/{name}.txt" for name in ("R101", "C101", "RC101", "R201", "C201", "RC201", "RC208")
    ),
    "MDVRP": ("MDVRP/p01",),
    "HFVRP": ("HFVRP/c50_13hd.txt",),
}
"""What is taken from the package VRPSolverEasy."""
TRIPS = ((1, 551.0), (2, 289.0))
"""Vehicles and horizon of the instances with several trips made of CMT1 (= E-n51-k5)."""
KINDS = ("CVRP", "VRPTW", "MDVRP", "MDVRPTW", "PCVRPTW", "HFVRP", "SDVRPTW", "MTVRPTWR", "several trips")


@dataclass(frozen=True)
class Entry:
    """An instance of a set. ``file`` is where it was read from, None when it was made from another."""

    kind: str
    name: str
    instance: Instance
    file: Path | None
    rounding: str
    known: float


def catalog(data: str | None, kinds: Sequence[str] = KINDS) -> tuple[list[Entry], list[str]]:
    """All instances of some sets, by set, and what could not be had."""
    notes: list[str] = []
    found = [*_packaged(notes), *_from_folder(data, notes)]
    return [entry for kind in kinds for entry in found if entry.kind == kind], notes


def spread(entries: Sequence[Entry], most: int | None) -> list[Entry]:
    """At most so many of each set, spread evenly over its list."""
    if most is None:
        return list(entries)
    kept = []
    for kind in dict.fromkeys(entry.kind for entry in entries):
        row = [entry for entry in entries if entry.kind == kind]
        step = (len(row) - 1) / max(1, most - 1)
        at = range(len(row)) if len(row) <= most else {round(i * step) for i in range(most)}
        kept += [row[i] for i in sorted(at)]
    return kept


def _packaged(notes: list[str]) -> list[Entry]:
    folder = data_folder()
    if folder is None:
        notes.append("the package VRPSolverEasy is not installed: its instances were left out")
        return []
    rows = []
    for kind, names in PACKAGED.items():
        for name in names:
            known = KNOWN[Path(name).stem]
            instance = read(folder / name, known.rounding)
            rows.append(Entry(kind, instance.name, instance, folder / name, known.rounding, known.value))
    eilon = read(folder / "CVRP/E-n51-k5.vrp", "exact")
    for vehicles, horizon in TRIPS:
        name = f"CMT1, {vehicles} vehicle{'s' if vehicles > 1 else ''}"
        instance = replace(several_trips(eilon, vehicles, horizon), name=name)
        rows.append(Entry("several trips", name, instance, None, "exact", KNOWN[name].value))
    return rows


def _from_folder(data: str | None, notes: list[str]) -> list[Entry]:
    folder = instance_folder(data)
    if folder is None:
        notes.append(missing(data) + ": its instances were left out")
        return []
    rows = []
    for kind, rounding in ROUNDING.items():
        if kind not in KINDS:
            continue
        for path in sorted((folder / kind).glob("*.vrp")):
            try:
                instance = read(path, rounding)
            except (UnreadableInstance, OSError) as error:
                notes.append(str(error))
                continue
            known = best_known(path, instance)
            if known is None:
                notes.append(f"{path.stem}: no best value known")
                continue
            rows.append(Entry(kind, path.stem, instance, path, rounding, known))
    return rows
