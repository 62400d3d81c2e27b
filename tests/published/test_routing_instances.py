"""Routing against published instances, through the planner's own search, by iterations: no clock.

Each value stands with its source; ``from memory`` is said where no text was at hand. Routes are judged by
``tests.support.instances.check``, which knows the instance and nothing of the planner.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

import pytest

from routing.planning.evaluate.state import Judge, State
from tests.support.instances.check import check
from tests.support.instances.folder import ROUNDING, instance_folder, missing
from tests.support.instances.instance import Instance, UnreadableInstance, Vehicle
from tests.support.instances.run import best_known, read, run_here
from tests.support.instances.solver_easy import data_folder, read_packaged
from tests.support.instances.to_problem import to_problem
from tests.support.instances.typed_in import (
    dantzig_ramser,
    e_n13_k4,
    gr17,
    orienteering,
    score,
    several_trips,
    split_ring,
)
from tests.support.instances.vrplib_files import read_solution, read_vrplib

PACKAGED = data_folder()
FOLDER = instance_folder()
needs_package = pytest.mark.skipif(PACKAGED is None, reason="the data of VRPSolverEasy is not installed")
needs_folder = pytest.mark.skipif(FOLDER is None, reason=missing())


def _packaged(name: str, rounding: str) -> Instance:
    assert PACKAGED is not None
    return read_packaged(PACKAGED / name, rounding)


@dataclass(frozen=True)
class Case:
    """An instance, its published value, how near we must come (share), and at how many iterations."""

    make: Callable[[], Instance]
    published: float
    gap: float
    iterations: int


TYPED_IN = {
    # Dantzig & Ramser 1959 found 294; the optimum is 290 (Christofides & Eilon, OR Quarterly 20(3):309,
    # 1969, from memory).
    "the first truck dispatching problem": Case(dantzig_ramser, 290, 0, 1000),
    # CVRPLIB, set E of Christofides & Eilon 1969: 247, proved.
    "capacity: E-n13-k4": Case(e_n13_k4, 247, 0, 1000),
    # TSPLIB (Reinelt, ORSA J. Computing 3(4):376, 1991): 2085, proved.
    "one tour: gr17": Case(gr17, 2085, 0, 500),
    # Chen, Golden & Wasil, Networks 49(4):318, 2007: 228.28 and 430.60 with orders split anywhere.
    # Ours are cut into pieces beforehand, which can only cost more.
    "split orders: rings of 4": Case(lambda: split_ring(4, 2, (20, 10)), 228.28, 0, 1000),
    "split orders: rings of 8": Case(lambda: split_ring(8, 2, (20, 10)), 430.60, 0.01, 3000),
}

PACKAGE = {
    # Christofides & Eilon 1969, CVRPLIB: 375 with four vehicles, proved.
    "capacity: E-n22-k4": Case(
        lambda: _packaged("CVRP/E-n22-k4.vrp", "round").with_fleet((Vehicle((6000,)),) * 4), 375, 0, 1000
    ),
    # Christofides & Eilon 1969, CVRPLIB: 534 with three vehicles, proved.
    "capacity, few vehicles: E-n30-k3": Case(
        lambda: _packaged("CVRP/E-n30-k3.vrp", "round").with_fleet((Vehicle((4500,)),) * 3), 534, 0.01, 5000
    ),
    # Solomon 1987 cut to 25 clients, distances cut to one decimal; optima of Kohl et al., Transportation
    # Science 33(1):101, 1999.
    "windows: C101.25": Case(lambda: _packaged("CVRPTW/C101.txt", "trunc1").first(25), 191.3, 0, 1000),
    "windows: R101.25": Case(lambda: _packaged("CVRPTW/R101.txt", "trunc1").first(25), 617.1, 0, 3000),
    "windows: RC101.25": Case(lambda: _packaged("CVRPTW/RC101.txt", "trunc1").first(25), 461.1, 0, 3000),
    # Solomon 1987, 100 clients; 776.1 by Irnich & Villeneuve, INFORMS J. Computing 18(3):391, 2006, or later.
    "wide windows: RC208": Case(lambda: _packaged("CVRPTW/RC208.txt", "trunc1"), 776.1, 0.025, 20000),
    # Cordeau, Gendreau & Laporte, Networks 30(2):105, 1997; proved by Baldacci & Mingozzi, Math. Programming
    # 120:347, 2009.
    "several depots: p01": Case(lambda: _packaged("MDVRP/p01", "exact"), 576.87, 0.005, 15000),
    # Taillard, RAIRO 33(1):1, 1999; proved by Baldacci & Mingozzi 2009.
    "unlike vehicles: c50_13hd": Case(lambda: _packaged("HFVRP/c50_13hd.txt", "exact"), 1517.84, 0.03, 15000),
    # Taillard, Laporte & Gendreau 1996; optima by Mingozzi, Roberti & Toth, INFORMS J. Computing 25(2):193,
    # 2013 (values from memory).
    "several trips, one vehicle: CMT1": Case(
        lambda: several_trips(_packaged("CVRP/E-n51-k5.vrp", "exact"), 1, 551), 524.61, 0.04, 30000
    ),
    "several trips, two vehicles: CMT1": Case(
        lambda: several_trips(_packaged("CVRP/E-n51-k5.vrp", "exact"), 2, 289), 529.85, 0.03, 15000
    ),
}


def _assert_near(case: Case, instance: Instance) -> None:
    solved = run_here(instance, case.iterations)
    assert solved.verdict.faults == ()
    assert solved.cost >= case.published - 0.011, "cheaper than a proved optimum: the instance is misread"
    assert solved.cost <= case.published * (1 + case.gap) + 0.011


@pytest.mark.parametrize("case", TYPED_IN.values(), ids=TYPED_IN)
def test_planner_meets_the_published_value(case: Case) -> None:
    _assert_near(case, case.make())


@needs_package
@pytest.mark.parametrize("case", PACKAGE.values(), ids=PACKAGE)
def test_planner_meets_the_published_value_of_packaged_instances(case: Case) -> None:
    _assert_near(case, case.make())


@pytest.mark.parametrize(("budget", "best"), [(15, 45), (30, 110), (50, 190), (73, 265), (85, 285)])
def test_optional_clients_are_chosen_as_published(budget: float, best: int) -> None:
    """Tsiligirides 1984, set 1: best scores by Chao, Golden & Wasil, EJOR 88(3):475, 1996 (from memory)."""
    instance = orienteering(budget)
    solved = run_here(instance, 3000)
    assert solved.verdict.faults == ()
    served = {stop for route in solved.routes for stop in route if stop >= 0}
    assert score(instance, served, budget) == best


@needs_folder
@pytest.mark.parametrize(
    ("name", "gap", "iterations"),
    [
        ("SDVRPTW/PR01.vrp", 0.0, 3000),  # which vehicle may go where; Cordeau & Laporte 2001
        ("MTVRPTWR/C201R0.25.vrp", 0.04, 8000),  # trips, windows, release times; Yang 2023, proved
        ("HFVRP/X110-HD.vrp", 0.03, 8000),  # unlike vehicles; Pessoa, Sadykov & Uchoa 2018
        ("CVRP/X-n101-k25.vrp", 0.03, 8000),  # Uchoa et al. 2017, proved
    ],
)
def test_planner_comes_near_the_best_known(name: str, gap: float, iterations: int) -> None:
    assert FOLDER is not None
    path = FOLDER / name
    instance = read(path, ROUNDING[path.parent.name])
    known = best_known(path, instance)
    assert known is not None
    solved = run_here(instance, iterations)
    assert solved.verdict.faults == ()
    assert known - 1e-6 <= solved.cost <= known * (1 + gap) + 1e-6


def _solutions() -> list[Path]:
    if FOLDER is None:
        return []
    told = (p for p in sorted(FOLDER.glob("*/*.sol")) if "cost" in p.read_text(encoding="utf-8").lower())
    return [p for p in told if p.with_suffix(".vrp").exists()]


@needs_folder
@pytest.mark.parametrize("path", _solutions() or [Path()], ids=lambda p: p.stem)
def test_best_known_routes_cost_what_was_published(path: Path) -> None:
    """Reader and checker agree with whoever wrote the solution; and the planner prices it the same."""
    instance = read_vrplib(path.with_suffix(".vrp"), ROUNDING[path.parent.name])
    routes = read_solution(path, instance)
    told = float(path.read_text(encoding="utf-8").lower().rsplit("cost", 1)[1].splitlines()[0].strip(" :"))
    verdict = check(instance, routes)
    assert verdict.faults == ()
    # Costs stand in the files scaled, unscaled, or in hundredths of the data's own units.
    assert min(abs(verdict.cost / told / factor - 1) for factor in (1, 10, 1000, 100_000)) < 1e-6
    state = State(Judge(to_problem(instance)))
    for truck, route in enumerate(routes):
        assert state.judge(truck, route).fault is None
        state.put(truck, route)
    assert state.objective == pytest.approx(verdict.cost)


def _ring() -> tuple[Instance, list[tuple[int, ...]]]:
    """Four clients of 90 and 60 on one ring, each by a vehicle of its own."""
    instance = split_ring(4, 1, (90, 60))
    return instance, [(i,) for i in range(len(instance.clients))]


def test_checker_finds_what_is_wrong() -> None:
    """The judge is worth nothing unless it objects: one broken rule each."""
    instance, routes = _ring()
    instance = instance.with_fleet((Vehicle((100,)),) * 4)
    assert check(instance, routes).faults == ()
    assert "carries 150 of 100" in " ".join(check(instance, [(0, 1), (2,), (3,)]).faults)
    assert "is not served" in " ".join(check(instance, routes[:3]).faults)
    assert "served 2 times" in " ".join(check(instance, [(0,), (1,), (2,), (3, 0)]).faults)
    assert "5 routes for 4 vehicles" in " ".join(check(instance, [*routes, (0,)]).faults)
    assert "loads again where it may not" in " ".join(check(instance, [(0, -1, 1), (2,), (3,)]).faults)
    short = instance.with_fleet((Vehicle((100,), max_duration=1999),) * 4)
    assert "takes 2000 of 1999" in " ".join(check(short, routes).faults)
    late = replace(instance, clients=tuple(replace(c, window=(0, 999)) for c in instance.clients))
    assert "at 1000, after 999" in " ".join(check(late, routes).faults)
    closed = replace(instance, allowed=(frozenset({1}), None, None, None))
    assert "may not serve client 1" in " ".join(check(closed, routes).faults)
    released = replace(late, clients=tuple(replace(c, release=5, window=(0, 1004)) for c in late.clients))
    assert "at 1005, after 1004" in " ".join(check(released, routes).faults)


def test_waiting_before_the_first_client_does_not_count_as_duration() -> None:
    instance, routes = _ring()
    clients = tuple(replace(c, window=(5000, 6000)) for c in instance.clients)
    instance = replace(instance, clients=clients).with_fleet((Vehicle((100,), max_duration=2000),) * 4)
    assert check(instance, routes).faults == ()


def test_an_instance_that_no_day_can_state_is_refused(tmp_path: Path) -> None:
    text = "NAME : X\nDIMENSION : 3\nCAPACITY : 5\nEDGE_WEIGHT_TYPE : EUC_2D\nNODE_COORD_SECTION\n"
    text += "1 0 0\n2 1 1\n3 2 2\nDEMAND_SECTION\n1 0\n2 1\n3 1\n"
    text += "MUTUALLY_EXCLUSIVE_GROUP_SECTION\n1 2 3\nDEPOT_SECTION\n1\n-1\nEOF\n"
    path = tmp_path / "groups.vrp"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(UnreadableInstance, match="mutually_exclusive_group"):
        read_vrplib(path, "round")
    path.write_text("no instance at all", encoding="utf-8")
    with pytest.raises(UnreadableInstance):
        read_vrplib(path, "round")
