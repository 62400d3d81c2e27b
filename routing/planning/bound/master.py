"""Choose among the rounds known: the restricted master problem, a linear program that gives duals."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from ortools.linear_solver import pywraplp

from routing.planning.bound.branching import Duals, Fleet
from routing.planning.bound.model import FAR, TruckModel
from routing.planning.bound.rounds import Round
from routing.planning.machine_code.records import Flags, Floats

Cut = tuple[int, int, int]
"""Three visits of a subset-row inequality."""

USED = 1e-6


@dataclass(frozen=True)
class LinearSolution:
    """An optimum of the restricted master problem.

    Attributes
    ----------
    total : float
        Its cost.
    duals : Duals
        Its dual prices.
    unserved : array of bool, [visit]
        Visits that are left unserved, in part or whole.
    trucks_out : array, [model]
        How many trucks of each kind go out.
    """

    total: float
    duals: Duals
    unserved: Flags
    trucks_out: Floats


class Master:
    """Each visit is served or paid for; each truck goes once at most; no resource is overdrawn."""

    def __init__(self, models: Sequence[TruckModel], penalties: Floats) -> None:
        self.models = models
        self.solver = pywraplp.Solver.CreateSolver("CLP")
        inf = self.solver.infinity()
        self.cover = [self.solver.Constraint(1.0, inf) for _ in penalties]
        self.fleet_rows = [self.solver.Constraint(0.0, float(m.count)) for m in models]
        self.fleet_rows.append(self.solver.Constraint(0.0, float(sum(m.count for m in models))))
        self.stock_rows = [self.solver.Constraint(-inf, 1.0) for _ in range(models[0].shared)]
        own = [m.use.shape[1] - m.shared for m in models]
        self.resource_rows = [
            [*(self.solver.Constraint(-inf, 0.0) for _ in range(count)), *self.stock_rows] for count in own
        ]
        self.objective = self.solver.Objective()
        self.objective.SetMinimization()
        self.unserved = [
            self._column(price, [(row, 1.0)])
            for row, price in zip(self.cover, penalties.tolist(), strict=True)
        ]
        # Where more trucks must go out than rounds are known, one that serves nothing is dear.
        for row in self.fleet_rows[:-1]:
            self._column(float(penalties.sum()), [(row, 1.0), (self.fleet_rows[-1], 1.0)])
        self.standing = sum(m.count * m.idle for m in models)
        self.cuts: list[Cut] = []
        self.cut_rows: list[pywraplp.Constraint] = []
        self.rounds: list[tuple[int, Round]] = []
        self.variables: list[pywraplp.Variable] = []
        self.counts: list[Floats] = []
        self.known: set[tuple[int, Round]] = set()
        self.shares: list[float] = []

    def _column(self, cost: float, entries: Sequence[tuple[pywraplp.Constraint, float]]) -> pywraplp.Variable:
        variable = self.solver.NumVar(0.0, self.solver.infinity(), "")
        self.objective.SetCoefficient(variable, cost)
        for row, value in entries:
            row.SetCoefficient(variable, value)
        return variable

    def limit(self, fleet: Fleet) -> None:
        """Send out no other numbers of trucks than these."""
        for row, least, most in zip(self.fleet_rows, fleet.least, fleet.most, strict=True):
            row.SetBounds(float(least), float(most))

    def add(self, at: int, found: Round) -> bool:
        """Add a round of a model; False when it is there already."""
        if (at, found) in self.known:
            return False
        self.known.add((at, found))
        model = self.models[at]
        counts = np.zeros(len(self.cover))
        for i in found.visits:
            counts[model.visits[i]] += 1.0
        entries = [(self.cover[v], float(counts[v])) for v in np.nonzero(counts)[0].tolist()]
        entries += [(self.fleet_rows[at], 1.0), (self.fleet_rows[-1], 1.0)]
        entries += list(zip(self.resource_rows[at], found.use, strict=True))
        for cut, row in zip(self.cuts, self.cut_rows, strict=True):
            if (twice := float(counts[list(cut)].sum() // 2)) > 0:
                entries.append((row, twice))
        self.variables.append(self._column(found.money - model.idle, entries))
        self.rounds.append((at, found))
        self.counts.append(counts)
        return True

    def cut(self, cut: Cut) -> None:
        """Let no more than one round take two of three visits, counting whole pairs."""
        row = self.solver.Constraint(-self.solver.infinity(), 1.0)
        for counts, variable in zip(self.counts, self.variables, strict=True):
            if (twice := float(counts[list(cut)].sum() // 2)) > 0:
                row.SetCoefficient(variable, twice)
        self.cuts.append(cut)
        self.cut_rows.append(row)

    def least(self, at: int, duals: Duals, stocks: Floats) -> float:
        """The least reduced cost of the known rounds of a model; ``stocks``: duals of shared stocks."""
        mine = [i for i, (k, _) in enumerate(self.rounds) if k == at]
        if not mine:
            return FAR
        counts = np.array([self.counts[i] for i in mine])
        cost = np.array([self.rounds[i][1].money for i in mine]) - counts @ duals.visits
        if len(stocks):
            cost += np.array([self.rounds[i][1].use[-len(stocks) :] for i in mine]) @ stocks
        for cut, dual in zip(self.cuts, duals.cuts.tolist(), strict=True):
            cost += dual * (counts[:, cut].sum(axis=1) // 2)
        return float(cost.min())

    def chosen(self, at: int) -> list[Round]:
        """The rounds of a model that the last solution uses."""
        return [
            r for (k, r), share in zip(self.rounds, self.shares, strict=False) if k == at and share > USED
        ]

    def solve(self, penalties: Floats) -> LinearSolution:
        """The optimum where leaving a visit unserved costs so much."""
        for variable, price in zip(self.unserved, penalties.tolist(), strict=True):
            self.objective.SetCoefficient(variable, price)
        status = self.solver.Solve()
        if status != pywraplp.Solver.OPTIMAL:
            raise ArithmeticError("the linear program was not solved")
        self.shares = [variable.solution_value() for variable in self.variables]
        trucks_out = np.zeros(len(self.models))
        for (at, _), share in zip(self.rounds, self.shares, strict=True):
            trucks_out[at] += share
        duals = Duals(
            np.array([max(0.0, row.dual_value()) for row in self.cover]),
            [np.array([max(0.0, -row.dual_value()) for row in rows]) for rows in self.resource_rows],
            np.array([max(0.0, -row.dual_value()) for row in self.cut_rows]),
        )
        return LinearSolution(
            total=float(self.objective.Value()) + self.standing,
            duals=duals,
            unserved=np.array([variable.solution_value() > USED for variable in self.unserved]),
            trucks_out=trucks_out,
        )

    def violated_cuts(self, most: int, by: float) -> list[Cut]:
        """Cuts that the last solution violates, the most violated first, few of them for any one visit."""
        used = [i for i, share in enumerate(self.shares) if share > USED]
        if not used:
            return []
        counts = np.array([self.counts[i] for i in used])
        shares = np.array([self.shares[i] for i in used])
        visits = counts.shape[1]
        found: list[tuple[float, Cut]] = []
        for i in range(visits - 2):
            pair = counts[:, i, None] + counts[:, i + 1 :]
            twice = np.floor((pair[:, :, None] + counts[:, None, i + 1 :]) / 2)
            over = np.einsum("r,rjk->jk", shares, twice)
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
