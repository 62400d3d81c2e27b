"""Find cheapest rounds that keep every load trip by trip, by labels grown from the end of the round.

Seen from the end it is known what must be aboard on each leg, so that tanks, racks, legal mass, weak bridges
and fuel by load are exact. Each label is held against what the way to it costs at the least by the relaxed
rounds of ``bound_rounds`` that have not met what the label has met; those that cannot beat what is known are
dropped (completion bounds). The labels themselves are grown in ``bound_kernel``.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np

from routing.planning.bound.cargo import Call
from routing.planning.bound.heap import lowest, ordered
from routing.planning.bound.kernel import advance, begin
from routing.planning.bound.label_store import COUNT, FOUND, NODE, PARENT, Ground, Prices, room_for
from routing.planning.bound.model import TruckModel, Way
from routing.planning.bound.numbers import FAR, Floats, Words
from routing.planning.bound.rounds import Pricing, Round

SCARCE = 2.0
ROUNDS_A_TIME = 40
ROUNDS_KEPT = 4000
LABELS = 300_000
FRONT, FRONTS = 200, 120_000
A_LOOK = 2000
WORD = 64
DIVE, DEPTH = 1500, 12.0
MOST_CUTS = 64


class Asked(NamedTuple):
    """Prices to find rounds under: visits, own resources, shared stocks, and cuts with their fines."""

    worth: Floats
    own: Floats
    stock: Floats
    cuts: Sequence[Sequence[int]] = ()
    fines: Sequence[float] = ()


class Labelling:
    """Cheapest rounds of one truck model with exact loads."""

    def __init__(self, model: TruckModel, near: Sequence[Sequence[int]]) -> None:
        self.model, self.cargo = model, model.cargo
        self.n = len(model.visits)
        words = -(-self.n // WORD)
        self.ground = _ground(model, _words([[i, *some] for i, some in enumerate(near)], words))
        self.store = room_for(LABELS, self.ground, max(FRONT, FRONTS // max(1, self.n)), ROUNDS_KEPT)

    def price(
        self,
        pricing: Pricing,
        asked: Asked,
        threshold: float,
        most: int,
        over: Callable[[], bool],
    ) -> tuple[float, list[Round]]:
        """Bound the least cost of a round from below, and find rounds that cost less than ``threshold``.

        ``pricing`` has priced its relaxed rounds under the same prices. The bound is no more than
        that. At most ``most`` labels are taken up, and no more when it is ``over``.
        """
        self.asked, self.prices, s = asked, self._prices(pricing, asked), self.store
        begin(self.ground, self.prices, s, threshold)
        self.more = bool(s.counts[COUNT])
        if self.more:
            # First straight for whole rounds, so that there is something to hold labels against.
            ordered(s, max(0.0, (min(threshold, 0.0) - lowest(s)) / DEPTH))
            self.more = advance(self.ground, self.prices, s, DIVE)
            ordered(s, 0.0)
        return self.go_on(most, over)

    def go_on(self, most: int, over: Callable[[], bool]) -> tuple[float, list[Round]]:
        """The same, after taking up so many labels more."""
        done = 0
        while self.more and done < most and not over():
            self.more = advance(self.ground, self.prices, self.store, A_LOOK)
            done += A_LOOK
        return float(lowest(self.store)), self._rounds(self.asked)

    def _prices(self, pricing: Pricing, asked: Asked) -> Prices:
        own = self.model.use.shape[1] - self.model.shared
        cuts_of = np.zeros(self.n, dtype=np.uint64)
        for at, cut in enumerate(asked.cuts):
            for v in cut:
                cuts_of[v] |= np.uint64(1 << at)
        return Prices(
            worth=np.asarray(asked.worth, dtype=float),
            asked=self.model.use[:, :own] @ asked.own,
            gained=np.array([0.0, *(float(c.gain[:own] @ asked.own) for c in self.cargo.calls)]),
            stock=np.asarray(asked.stock, dtype=float),
            step_s=pricing.step_s,
            ahead=pricing.ahead(),
            near=pricing.memory.table,
            taken=pricing.taken,
            cuts_of=cuts_of,
            fines=np.array(asked.fines, dtype=float),
        )

    def _rounds(self, asked: Asked) -> list[Round]:
        """The cheapest rounds found, with the money they cost and the stock they draw."""
        s = self.store
        count = int(s.counts[FOUND])
        rounds = []
        for at in np.argsort(s.found_number[:count, 0], kind="stable")[:ROUNDS_A_TIME].tolist():
            order, label = [], int(s.found[at])
            while label >= 0:
                order.append(int(s.who[label, NODE]))
                label = int(s.who[label, PARENT])
            cost, drawn = s.found_number[at, 0], s.found_number[at, 1:]
            money = float(cost + asked.worth[order].sum() - drawn @ asked.stock)
            money -= sum(f * times(order, cut) for cut, f in zip(asked.cuts, asked.fines, strict=True))
            own = self.model.use.shape[1] - self.model.shared
            rounds.append(Round(tuple(order), money, (*(0.0,) * own, *drawn.tolist())))
        return rounds


def times(order: Sequence[int], cut: Sequence[int]) -> int:
    """How often a round takes a second visit of a cut."""
    return sum(order.count(v) for v in cut) // 2


def _words(sets: Sequence[Sequence[int]], words: int) -> Words:
    """Sets of visits as bits."""
    found = np.zeros((len(sets), words), dtype=np.uint64)
    for at, some in enumerate(sets):
        for v in some:
            found[at, v // WORD] |= np.uint64(1 << (v % WORD))
    return found


def _ground(model: TruckModel, keep: Words) -> Ground:
    """A truck model as plain arrays."""
    cargo, spec, n = model.cargo, model.spec, len(model.visits)
    calls, shares = cargo.calls, cargo.shares
    ways: list[Way | Call] = [model.ways[0], *calls]
    none_s = np.full(n, FAR)
    laden = next((way for way in model.ways[1:2] if not way.calls), None)
    parts = cargo.takes.shape[1]
    spare = np.zeros((model.shared, parts))
    spare[np.arange(model.shared), shares.syrup] = (1.0 + cargo.spare) / shares.whole
    spare[:, -2] = shares.pail
    before = [cargo.metres[:-1], *(np.tile(c.before_m[:-1, None], n) for c in calls)]
    breaks = 0.0 if spec.break_on_driving else float(spec.break_s)
    nowhere, nothing, no_stock = np.zeros(n), np.zeros(parts), np.zeros(model.shared)
    away = cargo.away.astype(float)
    found = Ground(
        seconds=np.stack([way.seconds[:-1].T for way in ways]),
        money=np.stack([way.money[:-1].T for way in ways]),
        before_m=np.stack([table.T for table in before]),
        onward_m=np.stack([nowhere, *(c.onward_m for c in calls), nowhere]),
        gives=np.stack([nothing, *(c.gives.astype(float) for c in calls), nothing]),
        elsewhere=np.stack([no_stock, *(c.elsewhere.astype(float) for c in calls), no_stock]),
        away_s=np.stack([*(w.seconds[-1] for w in ways), none_s if laden is None else laden.seconds[-1]]),
        away_money=np.stack([*(w.money[-1] for w in ways), none_s if laden is None else laden.money[-1]]),
        away_m=np.stack([cargo.metres[-1], *(np.full(n, c.before_m[-1]) for c in calls), cargo.metres[-1]]),
        away_most=np.stack([*(cargo.at_start for _ in ways), cargo.laden]),
        away=np.stack([*(away for _ in ways), no_stock]),
        home_s=np.ascontiguousarray(model.home_s),
        home_money=np.ascontiguousarray(model.home_money),
        takes=cargo.takes,
        grams=cargo.grams,
        most=cargo.most,
        tanks_ml=cargo.tanks_ml,
        gate_g=np.minimum(cargo.gate_g, cargo.room_g),
        carry=cargo.carry,
        carried=cargo.per_g_m * cargo.carried_m,
        per_g_m=cargo.per_g_m,
        share=shares.ml,
        spare=spare,
        level=shares.level,
        # Of so small a stock a single truck might draw more than there is.
        scarce=np.nonzero(shares.full * SCARCE > 1.0)[0],
        keep=keep,
        clock=np.array(
            [
                model.longest_s, model.credit_s, spec.tired_s, max(1, spec.break_after_s), breaks,
                spec.ordinary_s, spec.per_s, spec.overtime_per_s, spec.fixed - model.spared,
            ],
            dtype=float,
        ),
    )  # fmt: skip
    # Compiled code is made for arrays that lie row by row.
    return Ground._make(np.ascontiguousarray(v) if isinstance(v, np.ndarray) else v for v in found)
