"""Choose among relaxed rounds by a linear program, which prices visits, resources and cuts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from ortools.linear_solver import pywraplp

from routing.planning.bound.model import TruckModel
from routing.planning.bound.numbers import FAR, Flags, Floats
from routing.planning.bound.rounds import Round

Cut = tuple[int, int, int]
USED = 1e-6


@dataclass(frozen=True)
class Fleet:
    """How many trucks go out at the least and at the most: of each kind, and of all together (the last)."""

    least: tuple[int, ...]
    most: tuple[int, ...]

    def cheapest(self, extra: Sequence[float]) -> float:
        """The least that trucks add that go out, where one of each kind adds so much."""
        counts = list(self.least[:-1])
        for at in sorted(range(len(counts)), key=lambda at: extra[at]):
            wanted = (self.least[-1] if extra[at] >= 0 else self.most[-1]) - sum(counts)
            counts[at] += max(0, min(wanted, self.most[at] - counts[at]))
        if not self.least[-1] <= sum(counts) <= self.most[-1]:
            return FAR
        return sum(count * more for count, more in zip(counts, extra, strict=True) if count)


@dataclass(frozen=True)
class Solved:
    """The least cost with the rounds known, the prices it leads to, and how many trucks it sends out.

    ``worth`` of each visit, ``asked`` for each resource of each model, ``fines`` of each cut; ``left`` are
    the visits that are left.
    """

    total: float
    worth: Floats
    asked: list[Floats]
    fines: Floats
    left: Flags
    out: Floats


class Master:
    """Each visit is served or paid for; each truck goes once at most; no resource is overdrawn."""

    def __init__(self, models: Sequence[TruckModel], leaving: Floats) -> None:
        self.models = models
        self.solver = pywraplp.Solver.CreateSolver("CLP")
        inf = self.solver.infinity()
        self.cover = [self.solver.Constraint(1.0, inf) for _ in leaving]
        self.crew = [self.solver.Constraint(0.0, float(m.count)) for m in models]
        self.crew.append(self.solver.Constraint(0.0, float(sum(m.count for m in models))))
        self.shared = [self.solver.Constraint(-inf, 1.0) for _ in range(models[0].shared)]
        own = [m.use.shape[1] - m.shared for m in models]
        self.limits = [
            [*(self.solver.Constraint(-inf, 0.0) for _ in range(count)), *self.shared] for count in own
        ]
        self.objective = self.solver.Objective()
        self.objective.SetMinimization()
        self.left = [
            self._column(price, [(row, 1.0)]) for row, price in zip(self.cover, leaving.tolist(), strict=True)
        ]
        # Where more trucks must go out than rounds are known, one that serves nothing is dear.
        for row in self.crew[:-1]:
            self._column(float(leaving.sum()), [(row, 1.0), (self.crew[-1], 1.0)])
        self.standing = sum(m.count * m.idle for m in models)
        self.cuts: list[Cut] = []
        self.cut_rows: list[pywraplp.Constraint] = []
        self.rounds: list[tuple[int, Round]] = []
        self.variables: list[pywraplp.Variable] = []
        self.taken: list[Floats] = []
        self.known: set[tuple[int, Round]] = set()
        self.parts: list[float] = []

    def _column(self, cost: float, entries: Sequence[tuple[pywraplp.Constraint, float]]) -> pywraplp.Variable:
        variable = self.solver.NumVar(0.0, self.solver.infinity(), "")
        self.objective.SetCoefficient(variable, cost)
        for row, value in entries:
            row.SetCoefficient(variable, value)
        return variable

    def limit(self, fleet: Fleet) -> None:
        """Send out no other numbers of trucks than these."""
        for row, least, most in zip(self.crew, fleet.least, fleet.most, strict=True):
            row.SetBounds(float(least), float(most))

    def add(self, at: int, found: Round) -> bool:
        """Add a round of a model; False when it is there already."""
        if (at, found) in self.known:
            return False
        self.known.add((at, found))
        model = self.models[at]
        taken = np.zeros(len(self.cover))
        for i in found.visits:
            taken[model.visits[i]] += 1.0
        entries = [(self.cover[v], float(taken[v])) for v in np.nonzero(taken)[0].tolist()]
        entries += [(self.crew[at], 1.0), (self.crew[-1], 1.0)]
        entries += list(zip(self.limits[at], found.use, strict=True))
        for cut, row in zip(self.cuts, self.cut_rows, strict=True):
            if (twice := float(taken[list(cut)].sum() // 2)) > 0:
                entries.append((row, twice))
        self.variables.append(self._column(found.money - model.idle, entries))
        self.rounds.append((at, found))
        self.taken.append(taken)
        return True

    def cut(self, cut: Cut) -> None:
        """Let no more than one round take two of three visits, counting whole pairs."""
        row = self.solver.Constraint(-self.solver.infinity(), 1.0)
        for taken, variable in zip(self.taken, self.variables, strict=True):
            if (twice := float(taken[list(cut)].sum() // 2)) > 0:
                row.SetCoefficient(variable, twice)
        self.cuts.append(cut)
        self.cut_rows.append(row)

    def least(self, at: int, worth: Floats, stock: Floats, fines: Floats) -> float:
        """The least that a known round of a model costs at these prices, beyond its visits' worth."""
        mine = [i for i, (k, _) in enumerate(self.rounds) if k == at]
        if not mine:
            return FAR
        taken = np.array([self.taken[i] for i in mine])
        cost = np.array([self.rounds[i][1].money for i in mine]) - taken @ worth
        if len(stock):
            cost += np.array([self.rounds[i][1].use[-len(stock) :] for i in mine]) @ stock
        for cut, fine in zip(self.cuts, fines.tolist(), strict=True):
            cost += fine * (taken[:, cut].sum(axis=1) // 2)
        return float(cost.min())

    def chosen(self, at: int) -> list[Round]:
        """The rounds of a model that the last solution uses."""
        return [r for (k, r), part in zip(self.rounds, self.parts, strict=False) if k == at and part > USED]

    def solve(self, leaving: Floats) -> Solved:
        """The least cost where leaving a visit costs so much."""
        for variable, price in zip(self.left, leaving.tolist(), strict=True):
            self.objective.SetCoefficient(variable, price)
        status = self.solver.Solve()
        if status != pywraplp.Solver.OPTIMAL:
            raise ArithmeticError("the linear program was not solved")
        self.parts = [variable.solution_value() for variable in self.variables]
        out = np.zeros(len(self.models))
        for (at, _), part in zip(self.rounds, self.parts, strict=True):
            out[at] += part
        return Solved(
            total=float(self.objective.Value()) + self.standing,
            worth=np.array([max(0.0, row.dual_value()) for row in self.cover]),
            asked=[np.array([max(0.0, -row.dual_value()) for row in rows]) for rows in self.limits],
            fines=np.array([max(0.0, -row.dual_value()) for row in self.cut_rows]),
            left=np.array([variable.solution_value() > USED for variable in self.left]),
            out=out,
        )

    def broken_cuts(self, most: int, by: float) -> list[Cut]:
        """Cuts that the last solution breaks, the most broken first, few of them for any one visit."""
        used = [i for i, part in enumerate(self.parts) if part > USED]
        if not used:
            return []
        taken = np.array([self.taken[i] for i in used])
        parts = np.array([self.parts[i] for i in used])
        visits = taken.shape[1]
        found: list[tuple[float, Cut]] = []
        for i in range(visits - 2):
            pair = taken[:, i, None] + taken[:, i + 1 :]
            twice = np.floor((pair[:, :, None] + taken[:, None, i + 1 :]) / 2)
            over = np.einsum("r,rjk->jk", parts, twice)
            for j, k in zip(*np.nonzero(np.triu(over > 1.0 + by, 1)), strict=True):
                found.append((-float(over[j, k]), (i, i + 1 + int(j), i + 1 + int(k))))
        found.sort()
        chosen: list[Cut] = []
        times = np.zeros(visits)
        for _, cut in found:
            if len(chosen) < most and cut not in self.cuts and times[list(cut)].max() < 3:
                chosen.append(cut)
                times[list(cut)] += 1
        return chosen
