"""Read the instances that come with the package VRPSolverEasy: data only, none of its code is run.

Solomon's and Gehring & Homberger's text, Taillard's heterogeneous fleets, Cordeau's several depots, and
VRPLIB's form for the rest. Each file is a small text in the form its authors gave it.
"""

from __future__ import annotations

from importlib.util import find_spec
from pathlib import Path

from tests.support.instances.instance import (
    ALWAYS,
    ROUNDINGS,
    Client,
    Depot,
    Instance,
    UnreadableInstance,
    Vehicle,
    euclidean,
    whole,
)
from tests.support.instances.vrplib_files import read_vrplib


def data_folder() -> Path | None:
    """Where the package's data lies, or None where it is not installed. The package is not imported."""
    spec = find_spec("VRPSolverEasy")
    if spec is None or not spec.submodule_search_locations:
        return None
    folder = Path(spec.submodule_search_locations[0]) / "demos" / "data"
    return folder if folder.is_dir() else None


def read_packaged(path: Path, rounding: str) -> Instance:
    """Read a file of the package by its folder."""
    kind = path.parent.name
    if kind == "CVRPTW":
        return read_solomon(path, rounding)
    if kind == "MDVRP":
        return read_cordeau(path, rounding)
    if kind == "HFVRP" and path.suffix == ".txt":
        return read_taillard(path, rounding)
    return read_vrplib(path, rounding)


def _numbers(path: Path, skip: int = 0) -> list[list[float]]:
    """The lines of a text that hold numbers only."""
    rows = []
    for line in path.read_text(encoding="utf-8").splitlines()[skip:]:
        try:
            row = [float(word) for word in line.split()]
        except ValueError:
            continue
        if row:
            rows.append(row)
    return rows


def read_solomon(path: Path, rounding: str) -> Instance:
    """Read the form of Solomon 1987: one depot, windows, like vehicles."""
    rows = _numbers(path, skip=1)
    if len(rows) < 3 or len(rows[0]) != 2 or any(len(r) != 7 for r in rows[1:]):
        raise UnreadableInstance(f"{path}: not in Solomon's form")
    (count, capacity), sites = rows[0], rows[1:]
    windows = [(int(a), int(b)) for a, b in whole([r[4:6] for r in sites], rounding)]
    service = whole([r[6] for r in sites], rounding)
    return Instance(
        name=path.stem,
        scale=ROUNDINGS[rounding],
        distance=euclidean([r[1:3] for r in sites], rounding),
        depots=(Depot(0, windows[0]),),
        clients=tuple(
            Client(i, (int(r[3]),), windows[i], int(service[i]), label=i) for i, r in enumerate(sites) if i
        ),
        vehicles=(Vehicle((int(capacity),), window=windows[0]),) * int(count),
        allowed=(None,) * int(count),
    )


def read_taillard(path: Path, rounding: str) -> Instance:
    """Read the form of heterogeneous fleets: clients, then kinds of vehicle with their number."""
    rows = _numbers(path)
    clients = int(rows[0][0])
    sites, kinds = rows[1 : clients + 2], rows[clients + 3 :]
    if len(sites) != clients + 1 or len(kinds) != int(rows[clients + 2][0]):
        raise UnreadableInstance(f"{path}: not in the form of heterogeneous fleets")
    scale = ROUNDINGS[rounding]
    vehicles = tuple(
        Vehicle((int(capacity),), fixed=fixed * scale, per_unit=per_unit)
        for capacity, fixed, per_unit, _, most in kinds
        for _ in range(min(int(most), clients))
    )
    return Instance(
        name=path.stem,
        scale=scale,
        distance=euclidean([r[1:3] for r in sites], rounding),
        depots=(Depot(0),),
        clients=tuple(Client(i, (int(r[3]),), label=i) for i, r in enumerate(sites) if i),
        vehicles=vehicles,
        allowed=(None,) * len(vehicles),
    )


def read_cordeau(path: Path, rounding: str) -> Instance:
    """Read the form of Cordeau et al. 1997: several depots, a limit on route length where not nought."""
    rows = _numbers(path)
    kind, per_depot, count, depots = (int(n) for n in rows[0])
    limits, sites = rows[1 : depots + 1], rows[depots + 1 :]
    if kind != 2 or len(sites) != count + depots:
        raise UnreadableInstance(f"{path}: not in the form of several depots")
    vehicles = tuple(
        Vehicle(
            (int(capacity),),
            start=d,
            end=d,
            max_duration=int(whole(longest, rounding)) if longest else None,
        )
        for d, (longest, capacity) in enumerate(limits)
        for _ in range(per_depot)
    )
    return Instance(
        name=path.name,
        scale=ROUNDINGS[rounding],
        distance=euclidean([r[1:3] for r in sites], rounding),
        depots=tuple(Depot(count + d, ALWAYS, count + d + 1) for d in range(depots)),
        clients=tuple(
            Client(i, (int(r[4]),), service=int(whole(r[3], rounding)), label=i + 1)
            for i, r in enumerate(sites[:count])
        ),
        vehicles=vehicles,
        allowed=(None,) * len(vehicles),
    )
