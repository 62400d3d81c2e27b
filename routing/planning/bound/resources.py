"""State what a truck may pour and give between two calls, as resources that hold on average."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from routing.planning.machine_code.records import Floats
from routing.planning.problem.problem import Problem, TruckSpec, visit_ml

Stock = tuple[int, int, int]
"""A depot, a syrup, and the millilitres there that all trucks share."""

PARTS = (1, 2, 3, 4, 5, 6, 8)
TELLING = 0.85
"""A count in whole parts is kept where it sees at least so much of what the plain sum sees."""


class Resources:
    """What visits use, what the start allows and what each refill depot adds, as shares of the most.

    Columns: each syrup in tanks, all tanks together, pails, mass, those that may bind; and each counted in
    whole parts (``whole_levels``), where few large visits leave much room that none of them can use. The last
    columns are the stocks: of what is poured, what was not taken elsewhere was drawn there.

    Attributes
    ----------
    use : array, [visit, resource]
        What each visit uses.
    laden, start : array, [resource]
        What may be used from the start: without loading there, and after loading there.
    calls : array, [depot, resource]
        What a call at each refill depot adds.
    """

    def __init__(
        self,
        problem: Problem,
        spec: TruckSpec,
        visits: Sequence[int],
        depots: Sequence[int],
        stocks: Sequence[Stock],
    ) -> None:
        self.problem, self.spec = problem, spec
        rows = [
            [*v.bulk_ml, sum(v.bulk_ml), v.pail_count, problem.load_g([i]) - 1.0]
            for i, v in ((i, problem.visits[i]) for i in visits)
        ]
        use = np.array(rows, dtype=float).reshape(len(visits), len(problem.density_g_ml) + 3)
        laden = self._gain(spec.start, aboard=True, supplied=False)
        gains = [laden, self._gain(spec.start, aboard=True), *(self._gain(d) for d in depots)]
        gain = np.array(gains, dtype=float)
        most = np.maximum(1.0, np.maximum(gain.max(axis=0), use.max(axis=0, initial=1.0)))
        plain = np.tile((use / most).sum(axis=0), 1 + len(PARTS))
        use, gain = _in_parts(use / most), _in_parts(gain / most)
        kept = (use.sum(axis=0) > gain[1]) & (use.sum(axis=0) >= TELLING * plain)
        shares = Shares(problem, spec, visits, stocks)
        self.use: Floats = np.concatenate([use[:, kept], shares.ml], axis=1)
        first = np.where(shares.at == spec.start, 0.0, shares.full) + shares.level
        calls = [np.where(shares.at == d, 0.0, shares.full) for d in depots]
        gain = np.concatenate([gain[:, kept], [shares.level, first, *calls]], axis=1)
        self.laden, self.start, self.calls = gain[0], gain[1], gain[2:]

    def _gain(self, depot: int, aboard: bool = False, supplied: bool = True) -> Floats:
        """The most that may be poured or given after a call, before the next."""
        spec, depots = self.spec, self.problem.depots
        kinds = range(len(self.problem.density_g_ml))
        gives = [supplied and row is not None for row in depots[depot].supplies]
        bulk = [spec.capacity_ml[s] if gives[s] else spec.level_ml[s] * aboard for s in kinds]
        tanks = sum(spec.capacity_ml) if spec.tank_ml is None else spec.tank_ml
        pails = spec.pail_slots if depots[depot].pails and any(gives) else 0
        pails = max(pails, sum(spec.pails_aboard) * aboard)
        room_g = spec.gross_g - spec.tare_g + 1.0
        return np.array([*bulk, tanks if any(gives) or aboard else 0, pails, room_g], dtype=float)


class Shares:
    """Shares of limited stocks, all by stock.

    Attributes
    ----------
    ml : array, [visit, stock]
        What each visit takes.
    full, level : array, [stock]
        What a full truck holds, and what this one has aboard at first.
    pail : array, [stock]
        The most that one pail may hold.
    at, syrup, whole : array, [stock]
        The depot, the syrup, and the stock in mL.
    """

    def __init__(
        self, problem: Problem, spec: TruckSpec, visits: Sequence[int], stocks: Sequence[Stock]
    ) -> None:
        self.at = np.array([d for d, _, _ in stocks], dtype=int)
        self.syrup = np.array([s for _, s, _ in stocks], dtype=int)
        self.whole = np.array([max(1, ml) for _, _, ml in stocks], dtype=float)
        chosen = [problem.visits[v] for v in visits]
        rows = [[visit_ml(v, s) for _, s, _ in stocks] for v in chosen]
        self.ml = np.array(rows, dtype=float).reshape(len(chosen), len(stocks)) / self.whole
        pail = [
            max((v.pail_ml[s] / v.pails[s] for v in chosen if v.pails and v.pails[s]), default=0.0)
            for _, s, _ in stocks
        ]
        self.pail = np.array(pail, dtype=float) / self.whole
        room = np.array([spec.capacity_ml[s] for _, s, _ in stocks], dtype=float)
        slots = max(spec.pail_slots, sum(spec.pails_aboard))
        self.full = room / self.whole + slots * self.pail
        aboard = [
            spec.level_ml[s] + (spec.pail_ml_aboard[s] if spec.pail_ml_aboard else 0) for _, s, _ in stocks
        ]
        self.level = np.array(aboard, dtype=float) / self.whole


def stocks_of(problem: Problem) -> tuple[Stock, ...]:
    """The stocks that are less than what all visits ask for."""
    return tuple(
        (d, s, supply.stock_ml)
        for d, depot in enumerate(problem.depots)
        for s, supply in enumerate(depot.supplies)
        if supply is not None and supply.stock_ml is not None and supply.stock_ml < problem.demand_ml[s]
    )


def whole_levels(shares: Floats, k: int) -> Floats:
    """How many of ``k`` levels shares of a whole fill: more than j / (k + 1) of it is j of them.

    What fits together does so when counted: the j of shares that sum to s are whole numbers whose sum is
    below (k + 1) s (dual feasible functions; G.S. Lueker, "Bin packing with items uniformly distributed over
    intervals [a, b]", FOCS 1983).
    """
    return np.asarray(np.maximum(0.0, np.ceil((k + 1) * shares - 1e-9) - 1.0))


def _in_parts(shares: Floats) -> Floats:
    """Shares of a whole, and beside them the shares counted in whole parts."""
    return np.concatenate([shares, *(whole_levels(shares, k) / k for k in PARTS)], axis=1)
