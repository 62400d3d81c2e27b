"""Choose among relaxed rounds by a linear program, which prices visits and resources."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from ortools.linear_solver import pywraplp

from routing.planning.bound_model import Floats, TruckModel
from routing.planning.bound_rounds import Round


class Master:
    """Each visit is served or paid for; each truck goes once at most; no resource is overdrawn."""

    def __init__(self, models: Sequence[TruckModel], prices: Floats) -> None:
        self.models = models
        self.solver = pywraplp.Solver.CreateSolver("CLP")
        inf = self.solver.infinity()
        self.cover = [self.solver.Constraint(1.0, inf) for _ in prices]
        self.crew = [self.solver.Constraint(float(m.count), float(m.count)) for m in models]
        self.limits = [[self.solver.Constraint(-inf, 0.0) for _ in range(m.use.shape[1])] for m in models]
        self.objective = self.solver.Objective()
        self.objective.SetMinimization()
        for row, price in zip(self.cover, prices.tolist(), strict=True):
            self._column(price, [(row, 1.0)])
        for row, model in zip(self.crew, models, strict=True):
            self._column(model.idle, [(row, 1.0)])
        self.known: set[tuple[int, Round]] = set()

    def _column(self, cost: float, entries: Sequence[tuple[pywraplp.Constraint, float]]) -> None:
        variable = self.solver.NumVar(0.0, self.solver.infinity(), "")
        self.objective.SetCoefficient(variable, cost)
        for row, value in entries:
            row.SetCoefficient(variable, value)

    def add(self, at: int, found: Round) -> bool:
        """Add a round of a model; False when it is there already."""
        if (at, found) in self.known:
            return False
        self.known.add((at, found))
        model = self.models[at]
        times: dict[int, int] = {}
        for i in found.visits:
            times[model.visits[i]] = times.get(model.visits[i], 0) + 1
        entries = [(self.cover[v], float(count)) for v, count in times.items()]
        entries.append((self.crew[at], 1.0))
        entries += list(zip(self.limits[at], found.use, strict=True))
        self._column(found.money, entries)
        return True

    def solve(self) -> tuple[float, Floats, list[Floats]]:
        """The least cost, the worth of each visit, and the price of each resource of each model."""
        status = self.solver.Solve()
        if status != pywraplp.Solver.OPTIMAL:
            self.solver.Reset()
            status = self.solver.Solve()
        if status != pywraplp.Solver.OPTIMAL:
            raise ArithmeticError("the linear program was not solved")
        worth = np.array([max(0.0, row.dual_value()) for row in self.cover])
        asked = [np.array([max(0.0, -row.dual_value()) for row in rows]) for rows in self.limits]
        return float(self.objective.Value()), worth, asked
