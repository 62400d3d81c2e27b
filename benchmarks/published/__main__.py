"""Solve one published instance: ``python -m benchmarks.published FILE --rounding round --seconds 10``."""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path

from benchmarks.published.contest import KINDS, VARIABLE, Contestant, contest
from routing.planning.run.solve import SolveOptions
from tests.support.instances.folder import instance_folder
from tests.support.instances.instance import ROUNDINGS, UnreadableInstance
from tests.support.instances.run import Solved, best_known, read, run
from tests.support.instances.solver_easy import data_folder


def main(arguments: list[str] | None = None) -> int:
    """Solve and print. 0: done; 1: done, but a rule of the instance is broken; 2: bad input."""
    given = _parser().parse_args(arguments)
    path = _find(given.file, given.data)
    if path is None:
        print(f"{given.file}: no such file, nor in --data or the package VRPSolverEasy", file=sys.stderr)
        return 2
    try:
        instance = read(path, given.rounding)
    except (UnreadableInstance, OSError, ValueError) as error:
        print(error, file=sys.stderr)
        return 2
    who = Contestant(given.contestant, given.python)
    if who.kind == "planner":
        seconds = None if given.iterations else given.seconds
        solved = run(instance, SolveOptions(seconds, given.iterations, given.seed, given.workers))
    else:
        solved = contest(who, instance, path, given.rounding, given.seconds, given.seed)
    for trouble in solved.troubles:
        print(f"warning: {trouble}", file=sys.stderr)
    known = best_known(path, instance)
    print(json.dumps(_record(solved, known, who.name)) if given.json else _text(solved, known))
    return 0 if solved.verdict.feasible else 1


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="python -m benchmarks.published", description=__doc__)
    parser.add_argument("file", help="a VRPLIB file, or one of the package VRPSolverEasy (C101.txt, p01)")
    parser.add_argument("--data", help="folder in which to look for the file")
    parser.add_argument("--rounding", choices=sorted(ROUNDINGS), default="round")
    parser.add_argument("--contestant", choices=KINDS, default="planner", help="who solves it")
    parser.add_argument("--python", help=f"interpreter with another PyVRP (else {VARIABLE}, else this one)")
    parser.add_argument("--seconds", type=float, default=10.0)
    parser.add_argument("--iterations", type=int, help="stop the planner by count, not by the clock")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--workers", type=int, default=2, help="processes of the planner (2)")
    parser.add_argument("--json", action="store_true")
    return parser


def _find(name: str, data: str | None) -> Path | None:
    if Path(name).is_file():
        return Path(name)
    for folder in (instance_folder(data), data_folder()):
        found = sorted(folder.rglob(name)) if folder is not None else []
        if found and found[0].is_file():
            return found[0]
    return None


def _record(solved: Solved, known: float | None, contestant: str) -> dict[str, object]:
    return {
        "instance": solved.instance.name,
        "contestant": contestant,
        "cost": solved.cost if solved.verdict.cost < float("inf") else None,
        "feasible": solved.verdict.feasible,
        "faults": list(solved.verdict.faults),
        "bound": None,
        "best_known": known,
        "seconds": round(solved.seconds, 2),
    }


def _text(solved: Solved, known: float | None) -> str:
    gap = f", {100 * (solved.cost / known - 1):+.2f} % of the best known {known:g}" if known else ""
    faults = "".join(f"\n  {fault}" for fault in solved.verdict.faults)
    state = "feasible" if solved.verdict.feasible else "NOT feasible"
    return f"{solved.instance.name}: {solved.cost:g} in {solved.seconds:.1f} s, {state}{gap}{faults}"


if __name__ == "__main__":
    sys.exit(main())
