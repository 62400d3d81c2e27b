"""Find the round of one kind of truck with the least cost under given prices, or bound it from below.

Rounds are relaxed to ng-routes: a visit may come again once it is forgotten (R. Baldacci, A. Mingozzi &
R. Roberti, Operations Research 59(5):1269, 2011). Time is counted in steps and rounded down from node to
node; money is not rounded.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from routing.planning.bound.model import TruckModel
from routing.planning.bound.ng_sets import Memory
from routing.planning.bound.numbers import FAR, Floats
from routing.planning.bound.paths import carry, onward


@dataclass(frozen=True)
class Round:
    """A relaxed round: visits in order (positions in the model), its money, its net use of each resource."""

    visits: tuple[int, ...]
    money: float
    use: tuple[float, ...]


class Pricing:
    """Cheapest rounds of one truck model under prices of visits and resources."""

    def __init__(self, model: TruckModel, near: Sequence[Sequence[int]], steps: int, levels: int) -> None:
        self.model = model
        self.n = len(model.visits)
        self.memory = Memory(near)
        self.step_s = max(1e-3, (model.longest_s + model.credit_s) / steps)
        self.steps = int((model.longest_s + model.credit_s) // self.step_s) + 1
        self.taken = model.cargo.levels(levels)
        self.levels = levels + 1
        latest = np.array([model.busy_by(s) for s in model.latest_s.tolist()]) + model.credit_s
        self.shut = np.floor(latest / self.step_s)[self.memory.visit]
        self.ticks = [np.floor(way.seconds / self.step_s) for way in model.ways]
        self.table = np.empty((self.steps, self.memory.states, self.levels))
        self.reached = np.empty((self.steps, self.memory.states))

    def price(self, worth: Floats, resource: Floats) -> float:
        """The least cost of a round; ``worth`` is paid for each visit, ``resource`` asked for each use."""
        self._lay_arcs(worth, resource)
        self.table.fill(FAR)
        taken = self.taken[self.memory.visit]
        for t, state, cost in zip(self.begin_t, self.begin_state, self.begin_cost, strict=True):
            self.table[t, state, taken[state]] = min(self.table[t, state, taken[state]], cost)
        arcs = (self.arc_from, self.arc_to, self.arc_t, self.arc_cost, self.arc_call)
        carry(self.table, self.reached, *arcs, taken, self.shut)
        self.ends = self.reached + self._closing()
        return float(self.ends.min())

    def ahead(self) -> Floats:
        """The least cost of all before a label, and of closing, under the prices of the last pricing.

        By step of time after leaving the visit, visit, what the label has met (a number of bits, those of
        ``Memory.table``), and levels that are left for the visit and those before it. The last step is for
        what is too late.
        """
        memory = self.memory
        closing = self.model.closing(np.arange(2 * self.steps, dtype=float) * self.step_s)
        ahead = np.full((self.steps + 1, self.n, 1 << memory.width, self.levels), FAR)
        onward(self.table, closing, memory.first, memory.width, ahead)
        return ahead

    def _closing(self) -> Floats:
        """What ending the round after each state at each step costs."""
        model, visit = self.model, self.memory.visit
        seconds = np.arange(self.steps)[:, None] * self.step_s + model.home_s[None, :]
        return (model.closing(seconds) + model.home_money[None, :])[:, visit]

    def _lay_arcs(self, worth: Floats, resource: Floats) -> None:
        """The arcs that may matter under these prices: the direct ones, and calls that pay."""
        model, n, memory = self.model, self.n, self.memory
        asked = model.use @ resource - worth
        costs = []
        for way in model.ways:
            gain = np.full(n + 1, way.gain @ resource)
            gain[-1] = way.first_gain @ resource
            costs.append(way.money + asked - gain[:, None])
        kept: list[tuple[int, Floats, Floats]] = []
        for w, cost in enumerate(costs):
            ticks, cost = self.ticks[w], np.where(model.ways[w].seconds >= FAR, FAR, cost)
            for v, t, c in kept:
                # After a call more may be poured: the way without one does not make it needless.
                if model.ways[v].calls or not model.ways[w].calls:
                    cost = np.where((t <= ticks) & (c <= cost), FAR, cost)
            kept.append((w, ticks, cost))
        self.kept = kept
        source, target, arc_t, arc_cost, arc_way = [], [], [], [], []
        begin_t, begin_state, begin_cost, begin_way = [], [], [], []
        for w, ticks, cost in kept:
            flat_cost, flat_t = cost[:-1].reshape(-1), ticks[:-1].reshape(-1)
            good = (flat_cost < FAR / 2) & (flat_t < self.steps)
            which = good[memory.pair]
            pair = memory.pair[which]
            source.append(memory.source[which])
            target.append(memory.target[which])
            arc_t.append(flat_t[pair].astype(np.int64))
            arc_cost.append(flat_cost[pair])
            arc_way.append(np.full(len(pair), w))
            ok = np.nonzero((cost[-1] < FAR / 2) & (ticks[-1] < self.steps))[0]
            begin_t += ticks[-1, ok].astype(int).tolist()
            begin_state += memory.first[ok].tolist()
            begin_cost += cost[-1, ok].tolist()
            begin_way += [w] * len(ok)
        self.begin_t, self.begin_state, self.begin_cost, self.begin_way = (
            begin_t,
            begin_state,
            begin_cost,
            begin_way,
        )
        target_all = np.concatenate(target)
        order = np.argsort(target_all, kind="stable") if len(target) > 1 else slice(None)
        self.arc_to = target_all[order]
        self.arc_from = np.concatenate(source)[order]
        self.arc_t = np.concatenate(arc_t)[order]
        self.arc_cost = np.concatenate(arc_cost)[order]
        self.arc_way = np.concatenate(arc_way)[order]
        self.arc_call = np.array([way.calls for way in model.ways])[self.arc_way]

    def best(self, most: int) -> list[Round]:
        """The cheapest rounds of the last pricing, at most one for each last visit, cheapest first."""
        by_state = self.ends.min(axis=0)
        by_visit = np.minimum.reduceat(by_state, self.memory.first[:-1])
        found = []
        for i in np.argsort(by_visit, kind="stable")[:most]:
            if by_visit[i] >= -1e-7:
                break
            first, last = self.memory.first[i], self.memory.first[i + 1]
            column = self.ends[:, first:last]
            t, mask = np.unravel_index(int(column.argmin()), column.shape)
            found.append(self._trace(int(t), int(first + mask)))
        return found

    def _trace(self, t: int, state: int) -> Round:
        model, visit = self.model, self.memory.visit
        closing = float(model.closing(np.array([t * self.step_s + model.home_s[visit[state]]]))[0])
        money = closing + float(model.home_money[visit[state]])
        use = np.zeros(model.use.shape[1])
        level = int(self.table[t, state].argmin())
        order = []
        while True:
            i = int(visit[state])
            order.append(i)
            use += model.use[i]
            goal = self.table[t, state, level]
            begun = self._begun(t, state, level, goal)
            if begun is not None:
                way = model.ways[begun]
                money += way.money[-1, i]
                use -= way.first_gain
                return Round(tuple(reversed(order)), float(money), tuple(use.tolist()))
            at, t, level = self._before(t, state, level)
            way = model.ways[self.arc_way[at]]
            state = int(self.arc_from[at])
            money += way.money[visit[state], i]
            use -= way.gain

    def _begun(self, t: int, state: int, level: int, goal: float) -> int | None:
        """The way from the start that leads here, if one does."""
        if level != self.taken[self.memory.visit[state]]:
            return None
        begins = zip(self.begin_t, self.begin_state, self.begin_cost, self.begin_way, strict=True)
        return next((w for bt, s, c, w in begins if bt == t and s == state and c <= goal + 1e-9), None)

    def _before(self, t: int, state: int, level: int) -> tuple[int, int, int]:
        """The arc that leads here at least cost, and the step and level that it comes from."""
        low, high = np.searchsorted(self.arc_to, [state, state + 1])
        sources, calls = self.arc_from[low:high], self.arc_call[low:high]
        times = t - self.arc_t[low:high]
        fits = times >= 0
        times = np.maximum(0, times)
        taken = int(self.taken[self.memory.visit[state]])
        direct = self.table[times, sources, level - taken] if level >= taken else np.full(len(times), FAR)
        called = self.reached[times, sources] if level == taken else np.full(len(times), FAR)
        values = np.where(fits, np.where(calls, called, direct) + self.arc_cost[low:high], FAR)
        at = int(values.argmin())
        before, source = int(times[at]), int(sources[at])
        level = int(self.table[before, source].argmin()) if calls[at] else level - taken
        return low + at, before, level
