"""Find the cheapest rounds that keep every load trip by trip, by labels grown from the end of the round.

Seen from the end it is known what must be aboard on each leg, so that tanks, racks, legal mass, weak bridges
and fuel by load are exact. Each label has a completion bound: the least cost of the way to it by the relaxed
rounds of ``rounds`` that have not met what the label has met. The labels themselves are grown in ``kernel``.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np

from routing.planning.bound.kernel import BEGIN, EXTEND, LOWEST, ORDER, run
from routing.planning.bound.label_data import VISIT_DUALS, LabelDuals, label_data
from routing.planning.bound.label_store import store_for
from routing.planning.bound.model import TruckModel
from routing.planning.bound.rounds import Pricing, Round
from routing.planning.machine_code.records import Floats

ROUNDS_A_TIME = 40
ROUNDS_KEPT = 4000
LABELS = 300_000
FRONT, FRONTS = 200, 120_000
A_LOOK = 2000
DIVE, DEPTH = 1500, 12.0
MOST_CUTS = 64


class ModelDuals(NamedTuple):
    """The duals of one model: visits, own resources, shared stocks, and cuts in its own visit numbers."""

    visits: Floats
    own: Floats
    stocks: Floats
    cuts: Sequence[Sequence[int]] = ()
    cut_duals: Sequence[float] = ()


class Labelling:
    """The pricing problem of one truck model with exact loads."""

    def __init__(self, model: TruckModel, ng_sets: Sequence[Sequence[int]]) -> None:
        self.model = model
        self.data = label_data(model, ng_sets)
        fronts = max(FRONT, FRONTS // max(1, len(model.visits)))
        self.store = store_for(LABELS, self.data, fronts, ROUNDS_KEPT)

    def price(
        self,
        pricing: Pricing,
        duals: ModelDuals,
        threshold: float,
        most: int,
        over: Callable[[], bool],
    ) -> tuple[float, list[Round]]:
        """Bound the least reduced cost of a round from below, and find cheap rounds.

        Parameters
        ----------
        pricing : Pricing
            Its relaxed rounds have been priced under the same duals.
        duals : ModelDuals
            What visits pay, and resources, stocks and cuts are charged.
        threshold : float
            The bound is no more than this, and only rounds that cost less are found.
        most : int
            How many labels to take up at most, and no more when it is ``over``.
        """
        self.duals, self.label_duals = duals, self._label_duals(pricing, duals)
        self._run(BEGIN, value=threshold)
        self.more = bool(self.store.state["count"][0])
        if self.more:
            # First straight for whole rounds, so that there is something to hold labels against.
            self._run(ORDER, value=max(0.0, (min(threshold, 0.0) - self._run(LOWEST)) / DEPTH))
            self.more = self._run(EXTEND, DIVE) > 0
            self._run(ORDER)
        return self.go_on(most, over)

    def go_on(self, most: int, over: Callable[[], bool]) -> tuple[float, list[Round]]:
        """The same, after taking up so many labels more."""
        done = 0
        while self.more and done < most and not over():
            self.more = self._run(EXTEND, A_LOOK) > 0
            done += A_LOOK
        return self._run(LOWEST), self._rounds()

    def _run(self, task: int, count: int = 0, value: float = 0.0) -> float:
        return float(run(self.data, self.label_duals, self.store, task, count, float(value)))

    def _label_duals(self, pricing: Pricing, duals: ModelDuals) -> LabelDuals:
        own = self.model.use.shape[1] - self.model.shared
        visits = np.zeros(len(self.model.visits), VISIT_DUALS)
        visits["visit"], visits["resources"] = duals.visits, self.model.use[:, :own] @ duals.own
        visits["levels"] = pricing.levels_taken
        for at, cut in enumerate(duals.cuts):
            for v in cut:
                visits["cuts"][v] |= np.uint64(1 << at)
        gained = [float(call.gain[:own] @ duals.own) for call in self.model.cargo.calls]
        return LabelDuals(
            visits=visits,
            gained=np.array([0.0, *gained]),
            stocks=np.array(duals.stocks, dtype=float),
            cuts=np.array(duals.cut_duals, dtype=float),
            step_s=float(pricing.step_s),
            completion=pricing.completion(),
            ng_sets=pricing.states.table,
        )

    def _rounds(self) -> list[Round]:
        """The cheapest rounds found, with the money they cost and the stock they draw."""
        store, duals = self.store, self.duals
        found = store.rounds[: store.state["found"][0]]
        own = self.model.use.shape[1] - self.model.shared
        rounds = []
        for at in np.argsort(found["cost"], kind="stable")[:ROUNDS_A_TIME].tolist():
            order, label = [], int(found["label"][at])
            while label >= 0:
                order.append(int(store.labels["visit"][label]))
                label = int(store.labels["parent"][label])
            drawn = store.rounds_drawn[at]
            money = float(found["cost"][at] + duals.visits[order].sum() - drawn @ duals.stocks)
            money -= sum(d * pairs(order, cut) for cut, d in zip(duals.cuts, duals.cut_duals, strict=True))
            rounds.append(Round(tuple(order), money, (*(0.0,) * own, *drawn.tolist())))
        return rounds


def pairs(order: Sequence[int], cut: Sequence[int]) -> int:
    """How often a round takes a second visit of a cut."""
    return sum(order.count(v) for v in cut) // 2
