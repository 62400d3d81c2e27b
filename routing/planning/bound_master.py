"""Choose among relaxed rounds by a linear program, which prices visits and resources."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from ortools.linear_solver import pywraplp

from routing.planning.bound_model import TruckModel
from routing.planning.bound_numbers import FAR, Flags, Floats
from routing.planning.bound_rounds import Round


class Master:
    """Each visit is served or paid for; each truck goes once at most; no resource is overdrawn."""

    def __init__(self, models: Sequence[TruckModel], prices: Floats) -> None:
        self.models = models
        self.solver = pywraplp.Solver.CreateSolver("CLP")
        inf = self.solver.infinity()
        self.cover = [self.solver.Constraint(1.0, inf) for _ in prices]
        self.crew = [self.solver.Constraint(float(m.count), float(m.count)) for m in models]
        self.shared = [self.solver.Constraint(-inf, 1.0) for _ in range(models[0].shared)]
        own = [m.use.shape[1] - m.shared for m in models]
        self.limits = [
            [*(self.solver.Constraint(-inf, 0.0) for _ in range(count)), *self.shared] for count in own
        ]
        self.objective = self.solver.Objective()
        self.objective.SetMinimization()
        self.left = [
            self._column(price, [(row, 1.0)]) for row, price in zip(self.cover, prices.tolist(), strict=True)
        ]
        for row, model in zip(self.crew, models, strict=True):
            self._column(model.idle, [(row, 1.0)])
        self.served: list[list[Floats]] = [[] for _ in models]
        self.money: list[list[float]] = [[] for _ in models]
        self.drawn: list[list[tuple[float, ...]]] = [[] for _ in models]
        self.rounds: list[list[tuple[Round, pywraplp.Variable]]] = [[] for _ in models]
        self.used: list[list[Round]] = [[] for _ in models]
        self.known: set[tuple[int, Round]] = set()

    def _column(self, cost: float, entries: Sequence[tuple[pywraplp.Constraint, float]]) -> pywraplp.Variable:
        variable = self.solver.NumVar(0.0, self.solver.infinity(), "")
        self.objective.SetCoefficient(variable, cost)
        for row, value in entries:
            row.SetCoefficient(variable, value)
        return variable

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
        self.rounds[at].append((found, self._column(found.money, entries)))
        row = np.zeros(len(self.cover))
        for v, count in times.items():
            row[v] = count
        self.served[at].append(row)
        self.money[at].append(found.money)
        self.drawn[at].append(found.use[len(found.use) - len(self.shared) :])
        return True

    def least(self, at: int, worth: Floats, stock: Floats) -> float:
        """The least that a known round of a model costs, with stock at a price, beyond its visits' worth."""
        if not self.money[at]:
            return FAR
        cost = np.array(self.money[at]) - np.array(self.served[at]) @ worth
        drawn = np.array(self.drawn[at]).reshape(len(cost), len(stock))
        return float((cost + drawn @ stock).min())

    def chosen(self, at: int) -> list[Round]:
        """The rounds of a model that the last solution uses."""
        return self.used[at]

    def solve(self, leaving: Floats) -> tuple[float, Floats, list[Floats], Flags]:
        """The least cost where leaving a visit costs so much, and what that leads to.

        The worth of each visit, the price of each resource of each model, and which visits are left.
        """
        for variable, price in zip(self.left, leaving.tolist(), strict=True):
            self.objective.SetCoefficient(variable, price)
        status = self.solver.Solve()
        if status != pywraplp.Solver.OPTIMAL:
            self.solver.Reset()
            status = self.solver.Solve()
        if status != pywraplp.Solver.OPTIMAL:
            raise ArithmeticError("the linear program was not solved")
        worth = np.array([max(0.0, row.dual_value()) for row in self.cover])
        asked = [np.array([max(0.0, -row.dual_value()) for row in rows]) for rows in self.limits]
        left = np.array([variable.solution_value() > 1e-6 for variable in self.left])
        self.used = [
            [found for found, variable in some if variable.solution_value() > 1e-6] for some in self.rounds
        ]
        return float(self.objective.Value()), worth, asked, left
