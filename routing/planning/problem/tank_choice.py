"""Choose which syrup each free tank carries for the day: by trying all, or for large fleets with CP-SAT.

The choice that lets the whole fleet carry the largest share of the day's need in one load comes first; a
few next-best choices follow, for the routing engine to try.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from math import prod
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

SHARE = 1000
FEW = 256
"""So many choices are tried one by one: loading CP-SAT takes longer."""


@dataclass(frozen=True)
class TankChoice:
    """A tank of a truck (by position): what it holds, and the syrups it may carry."""

    truck: int
    capacity_ml: int
    syrups: tuple[int, ...]


Assignment = tuple[int, ...]


def assign_tanks(
    tanks: Sequence[TankChoice],
    demand_ml: Sequence[int],
    reach: Mapping[tuple[int, frozenset[int]], int],
    most: int = 3,
) -> list[Assignment]:
    """Syrup of each tank, best choice first; at most ``most`` choices that differ by truck and syrup.

    ``reach`` tells, for (syrup, set of trucks), the millilitres asked for by places that only those
    trucks can serve; leaving such a place without any tank costs more than any gain in capacity.
    """
    if prod(len(t.syrups) for t in tanks) <= FEW:
        return _distinct(tanks, _best_of_all(tanks, demand_ml, reach)[:most])
    return _distinct(tanks, _by_cp_sat(tanks, demand_ml, reach, most))


def _best_of_all(
    tanks: Sequence[TankChoice],
    demand_ml: Sequence[int],
    reach: Mapping[tuple[int, frozenset[int]], int],
) -> list[Assignment]:
    """Every choice, the best first; of equal ones that first which gives the first tank the first syrup."""
    choices = list(product(*(t.syrups for t in tanks)))
    return sorted(choices, key=lambda choice: -worth(tanks, demand_ml, reach, choice))


def worth(
    tanks: Sequence[TankChoice],
    demand_ml: Sequence[int],
    reach: Mapping[tuple[int, frozenset[int]], int],
    choice: Assignment,
) -> int:
    """How good a choice is: places that can be served, then the least share carried, then all shares."""
    carried = list(zip(tanks, choice, strict=True))
    shares = [
        min(SHARE, sum(max(1, t.capacity_ml * SHARE // need) for t, s in carried if s == syrup))
        for syrup, need in enumerate(demand_ml)
        if need
    ]
    served = sum(any(s == syrup and t.truck in trucks for t, s in carried) for syrup, trucks in reach)
    return SHARE * SHARE * served + len(tanks) * SHARE * min(shares, default=SHARE) + sum(shares)


def _by_cp_sat(
    tanks: Sequence[TankChoice],
    demand_ml: Sequence[int],
    reach: Mapping[tuple[int, frozenset[int]], int],
    most: int,
) -> list[Assignment]:
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    carries = {(i, s): model.new_bool_var(f"tank{i}_syrup{s}") for i, t in enumerate(tanks) for s in t.syrups}
    for i, tank in enumerate(tanks):
        model.add_exactly_one(carries[i, s] for s in tank.syrups)
    shares = [_share(model, tanks, carries, s, need) for s, need in enumerate(demand_ml) if need]
    served = [_served(model, tanks, carries, s, trucks) for s, trucks in reach]
    least = model.new_int_var(0, SHARE, "least")
    for share in shares:
        model.add(least <= share)
    coverage = sum(SHARE * SHARE * flag for flag in served)
    model.maximize(coverage + len(tanks) * SHARE * least + sum(shares))
    found: list[Assignment] = []
    for _ in range(most):
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        # Left to itself the solver takes Ctrl-C away from the program for good.
        solver.parameters.catch_sigint_signal = False
        solver.parameters.max_deterministic_time = 2.0
        if solver.solve(model) not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            break
        choice = tuple(next(s for s in t.syrups if solver.value(carries[i, s])) for i, t in enumerate(tanks))
        found.append(choice)
        model.add_bool_or(carries[i, s].negated() for i, s in enumerate(choice))
    return found


def _share(
    model: cp_model.CpModel,
    tanks: Sequence[TankChoice],
    carries: Mapping[tuple[int, int], cp_model.IntVar],
    syrup: int,
    need_ml: int,
) -> cp_model.IntVar:
    """Thousandths of a syrup's need that the fleet can carry at once, at most all of it."""
    share = model.new_int_var(0, SHARE, f"share{syrup}")
    aboard = sum(
        max(1, t.capacity_ml * SHARE // need_ml) * carries[i, syrup]
        for i, t in enumerate(tanks)
        if (i, syrup) in carries
    )
    model.add(share <= aboard)
    return share


def _served(
    model: cp_model.CpModel,
    tanks: Sequence[TankChoice],
    carries: Mapping[tuple[int, int], cp_model.IntVar],
    syrup: int,
    trucks: frozenset[int],
) -> cp_model.IntVar:
    flag = model.new_bool_var("")
    able = [carries[i, syrup] for i, t in enumerate(tanks) if t.truck in trucks and (i, syrup) in carries]
    model.add(flag <= sum(able))
    return flag


def _distinct(tanks: Sequence[TankChoice], found: list[Assignment]) -> list[Assignment]:
    """Leave out choices that give every truck the same capacities as an earlier one."""
    seen, kept = set(), []
    for choice in found:
        capacity: dict[tuple[int, int], int] = {}
        for tank, syrup in zip(tanks, choice, strict=True):
            capacity[tank.truck, syrup] = capacity.get((tank.truck, syrup), 0) + tank.capacity_ml
        key = tuple(sorted(capacity.items()))
        if key not in seen:
            seen.add(key)
            kept.append(choice)
    return kept
