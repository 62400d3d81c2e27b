"""Say what a truck may pour and give between two calls, as resources that hold on average over its rounds."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from routing.planning.bound_numbers import Floats
from routing.planning.bound_tables import parts
from routing.planning.problem import Problem, TruckSpec

PARTS = (1, 2, 3, 4, 5, 6, 8)
TELLING = 0.85


class Resources:
    """What visits use, what the start allows and what each refill depot adds, as shares of the most.

    Columns: each syrup in tanks, all tanks together, pails, mass, those that may bind; and each counted in
    whole parts (``parts``), where few large visits leave much room that none of them can use. ``laden`` is
    what may be used without loading at the start.
    """

    def __init__(
        self, problem: Problem, spec: TruckSpec, visits: Sequence[int], depots: Sequence[int]
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
        self.use: Floats = use[:, kept]
        self.laden, self.start, self.calls = gain[0, kept], gain[1, kept], gain[2:, kept]

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


def _in_parts(shares: Floats) -> Floats:
    """Shares of a whole, and beside them the shares counted in parts."""
    return np.concatenate([shares, *(parts(shares, k) for k in PARTS)], axis=1)
