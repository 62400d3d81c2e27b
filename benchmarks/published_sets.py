"""Plan published instances by the clock, and tell the gap to the best value known."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from benchmarks.measure import gap
from benchmarks.published.best_known import KNOWN
from benchmarks.published.folder import ROUNDING, instance_folder, missing
from benchmarks.published.instance import Instance, UnreadableInstance
from benchmarks.published.run import best_known, read, run
from benchmarks.published.solver_easy import data_folder, read_packaged
from benchmarks.published.typed_in import several_trips
from routing.planning.solve import SolveOptions

PACKAGED = ("CVRP/E-n51-k5.vrp", "CVRPTW/RC208.txt", "MDVRP/p01", "HFVRP/c50_13hd.txt")
QUICK = (
    "CVRP/X-n101-k25.vrp",
    "HFVRP/X110-HD.vrp",
    "MTVRPTWR/C201R0.25.vrp",
    "MTVRPTWR/R201R0.25.vrp",
    "SDVRPTW/PR01.vrp",
    "SDVRPTW/PR03.vrp",
)


@dataclass(frozen=True)
class Gap:
    """What was found on one instance against the best known."""

    kind: str
    instance: str
    clients: int
    vehicles: int
    seconds: float
    cost: float
    known: float
    feasible: bool

    @property
    def cells(self) -> list[str]:
        """A row of the table."""
        state = "" if self.feasible else " NOT FEASIBLE"
        return [
            self.kind,
            self.instance,
            str(self.clients),
            str(self.vehicles),
            f"{self.seconds:.0f}",
            f"{self.known:g}",
            f"{self.cost:g}",
            f"{gap(self.cost, self.known):.2f}{state}",
        ]


HEAD = ["kind", "instance", "clients", "vehicles", "s", "best known", "found", "gap, %"]


def gaps(
    seconds: float, seed: int, data: str | None, quick: bool, say: Callable[[str], None]
) -> tuple[list[Gap], list[str]]:
    """The gaps, and what could not be run."""
    found: list[Gap] = []
    notes: list[str] = []
    for kind, instance, known in [*_packaged(notes), *_from_folder(data, quick, notes)]:
        solved = run(instance, SolveOptions(seconds, None, seed, 1))
        row = Gap(
            kind, instance.name, len(instance.clients), len(instance.vehicles), solved.seconds, solved.cost,
            known, solved.verdict.feasible,
        )  # fmt: skip
        notes += [f"{instance.name}: {trouble}" for trouble in solved.troubles]
        found.append(row)
        say("  " + ", ".join(row.cells))
    return found, notes


def _packaged(notes: list[str]) -> list[tuple[str, Instance, float]]:
    folder = data_folder()
    if folder is None:
        notes.append("the package VRPSolverEasy is not installed: its instances were left out")
        return []
    rows = []
    for name in PACKAGED:
        known = KNOWN[Path(name).stem]
        rows.append((Path(name).parent.name, read_packaged(folder / name, known.rounding), known.value))
    eilon = read_packaged(folder / "CVRP/E-n51-k5.vrp", "exact")
    # Mingozzi, Roberti & Toth 2013, from memory.
    for vehicles, horizon, known_cost in ((1, 551.0, 524.61), (2, 289.0, 529.85)):
        rows.append(("several trips", several_trips(eilon, vehicles, horizon), known_cost))
    return rows


def _from_folder(data: str | None, quick: bool, notes: list[str]) -> list[tuple[str, Instance, float]]:
    folder = instance_folder(data)
    if folder is None:
        notes.append(missing(data) + ": its instances were left out")
        return []
    paths: Sequence[Path] = [folder / name for name in QUICK] if quick else _all(folder)
    rows = []
    for path in paths:
        try:
            instance = read(path, ROUNDING[path.parent.name])
        except (UnreadableInstance, OSError) as error:
            notes.append(str(error))
            continue
        known = best_known(path, instance)
        if known is not None:
            rows.append((path.parent.name, instance, known))
    return rows


def _all(folder: Path) -> list[Path]:
    found = [path for kind in ROUNDING for path in sorted((folder / kind).glob("*.vrp"))]
    return [path for path in found if path.parent.name != "small"]
