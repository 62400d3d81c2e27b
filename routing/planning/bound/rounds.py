"""Find the relaxed round of one kind of truck with the least reduced cost, or bound it from below.

Rounds are relaxed to ng-routes (``ng_sets``). Time is counted in steps and rounded down from node to node;
money is not rounded.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from routing.planning.bound.model import FAR, TruckModel, closing
from routing.planning.bound.ng_sets import NgStates
from routing.planning.bound.paths import ARC, complete, extend
from routing.planning.machine_code.records import Floats, Records, record

BEGINNING = record("steps state way", "cost")
"""A way from the start: the step and state that it leads to, and its reduced cost."""


@dataclass(frozen=True)
class Round:
    """A relaxed round: visits in order (positions in the model), its money, its net use of each resource."""

    visits: tuple[int, ...]
    money: float
    use: tuple[float, ...]


class Pricing:
    """The pricing problem of one truck model over relaxed rounds.

    Parameters
    ----------
    model : TruckModel
    ng_sets : sequence of sequences of int
        For each visit those that a round remembers there.
    steps, levels : int
        Into how many steps the longest day, and into how many levels a truckload, are divided.
    """

    def __init__(self, model: TruckModel, ng_sets: Sequence[Sequence[int]], steps: int, levels: int) -> None:
        self.model, self.n = model, len(model.visits)
        self.states = states = NgStates(ng_sets)
        hours = model.hours
        self.step_s = max(1e-3, (hours.longest_s + hours.credit_s) / steps)
        self.steps = int((hours.longest_s + hours.credit_s) // self.step_s) + 1
        self.levels_taken = model.cargo.levels(levels)
        self.levels = levels + 1
        latest_s = np.array([model.busy_by(s) for s in model.latest_s.tolist()]) + hours.credit_s
        self.latest = np.floor(latest_s / self.step_s)[states.visit]
        self.way_steps = [np.floor(way.seconds / self.step_s) for way in model.ways]
        self.table = np.empty((self.steps, states.count, self.levels))
        self.lowest = np.empty((self.steps, states.count))
        self.column = np.empty((1 << states.width, self.levels, self.steps))

    def price(self, visit_duals: Floats, resource_duals: Floats) -> float:
        """The least reduced cost of a round; visits pay their duals, uses of resources are charged theirs."""
        self._lay_arcs(visit_duals, resource_duals)
        self.table.fill(FAR)
        taken = self.levels_taken[self.states.visit]
        for begun in self.beginnings:
            at = (begun["steps"], begun["state"], taken[begun["state"]])
            self.table[at] = min(self.table[at], begun["cost"])
        extend(self.table, self.lowest, self.arcs, taken, self.latest)
        self.ends = self.lowest + self._closing()
        return float(self.ends.min())

    def completion(self) -> Floats:
        """The completion bounds of labels under the duals of the last pricing, as ``paths.complete`` says."""
        after_s = np.arange(2 * self.steps, dtype=float) * self.step_s
        ahead = np.full((self.steps + 1, self.n, 1 << self.states.width, self.levels), FAR)
        ends = closing(self.model.hours, after_s)
        complete(self.table, ends, self.states.first, self.states.width, self.column, ahead)
        return ahead

    def _closing(self) -> Floats:
        """What ending the round after each state at each step costs."""
        seconds = np.arange(self.steps)[:, None] * self.step_s + self.model.home_s[None, :]
        money = closing(self.model.hours, seconds) + self.model.home_money[None, :]
        return np.asarray(money[:, self.states.visit])

    def _lay_arcs(self, visit_duals: Floats, resource_duals: Floats) -> None:
        """The arcs that may matter under these duals: the direct ones, and calls that pay."""
        arcs, beginnings = [], []
        for w, cost in self._worthwhile(visit_duals, resource_duals):
            steps, states = self.way_steps[w], self.states
            good = ((cost[:-1] < FAR / 2) & (steps[:-1] < self.steps)).reshape(-1)[states.pair]
            pair = states.pair[good]
            some = np.empty(len(pair), ARC)
            some["source"], some["target"] = states.source[good], states.target[good]
            some["steps"], some["cost"] = steps[:-1].reshape(-1)[pair], cost[:-1].reshape(-1)[pair]
            some["calls"], some["way"] = self.model.ways[w].calls, w
            arcs.append(some)
            able = np.nonzero((cost[-1] < FAR / 2) & (steps[-1] < self.steps))[0]
            begun = np.empty(len(able), BEGINNING)
            begun["steps"], begun["state"] = steps[-1, able], states.first[able]
            begun["cost"], begun["way"] = cost[-1, able], w
            beginnings.append(begun)
        every: Records = np.concatenate(arcs)
        self.arcs = every[np.argsort(every["target"], kind="stable")]
        self.targets = np.ascontiguousarray(self.arcs["target"])
        self.beginnings: Records = np.concatenate(beginnings)

    def _worthwhile(self, visit_duals: Floats, resource_duals: Floats) -> list[tuple[int, Floats]]:
        """Each way with its reduced costs, FAR where another way is as fast and as cheap."""
        model = self.model
        charged = model.use @ resource_duals - visit_duals
        kept: list[tuple[int, Floats]] = []
        for w, way in enumerate(model.ways):
            gain = np.full(self.n + 1, way.gain @ resource_duals)
            gain[-1] = way.first_gain @ resource_duals
            cost = np.where(way.seconds >= FAR, FAR, way.money + charged - gain[:, None])
            for v, other in kept:
                # After a call more may be poured: the way without one does not make it needless.
                if model.ways[v].calls or not way.calls:
                    no_later = self.way_steps[v] <= self.way_steps[w]
                    cost = np.where(no_later & (other <= cost), FAR, cost)
            kept.append((w, cost))
        return kept

    def best(self, most: int) -> list[Round]:
        """The cheapest rounds of the last pricing, at most one for each last visit, cheapest first."""
        by_state = self.ends.min(axis=0)
        by_visit = np.minimum.reduceat(by_state, self.states.first[:-1])
        found = []
        for i in np.argsort(by_visit, kind="stable")[:most]:
            if by_visit[i] >= -1e-7:
                break
            first, last = self.states.first[i], self.states.first[i + 1]
            column = self.ends[:, first:last]
            t, mask = np.unravel_index(int(column.argmin()), column.shape)
            found.append(self._trace(int(t), int(first + mask)))
        return found

    def _trace(self, t: int, state: int) -> Round:
        """The round that ends at a step in a state, followed back from there."""
        model, visit = self.model, self.states.visit
        end_s = np.array([t * self.step_s + model.home_s[visit[state]]])
        money = float(closing(model.hours, end_s)[0]) + float(model.home_money[visit[state]])
        use = np.zeros(model.use.shape[1])
        level = int(self.table[t, state].argmin())
        order = []
        while True:
            i = int(visit[state])
            order.append(i)
            use += model.use[i]
            begun = self._begun(t, state, level)
            if begun is not None:
                way = model.ways[begun]
                money += way.money[-1, i]
                use -= way.first_gain
                return Round(tuple(reversed(order)), float(money), tuple(use.tolist()))
            at, t, level = self._before(t, state, level)
            way = model.ways[self.arcs["way"][at]]
            state = int(self.arcs["source"][at])
            money += way.money[visit[state], i]
            use -= way.gain

    def _begun(self, t: int, state: int, level: int) -> int | None:
        """The way from the start that leads here, if one does."""
        if level != self.levels_taken[self.states.visit[state]]:
            return None
        some, goal = self.beginnings, self.table[t, state, level]
        fits = (some["steps"] == t) & (some["state"] == state) & (some["cost"] <= goal + 1e-9)
        return int(some["way"][fits.argmax()]) if fits.any() else None

    def _before(self, t: int, state: int, level: int) -> tuple[int, int, int]:
        """The arc that leads here at least cost, and the step and level that it comes from."""
        low, high = np.searchsorted(self.targets, [state, state + 1])
        arcs = self.arcs[low:high]
        sources, calls, times = arcs["source"], arcs["calls"] > 0, t - arcs["steps"]
        fits = times >= 0
        times = np.maximum(0, times)
        taken = int(self.levels_taken[self.states.visit[state]])
        direct = self.table[times, sources, level - taken] if level >= taken else np.full(len(times), FAR)
        called = self.lowest[times, sources] if level == taken else np.full(len(times), FAR)
        values = np.where(fits, np.where(calls, called, direct) + arcs["cost"], FAR)
        at = int(values.argmin())
        before, source = int(times[at]), int(sources[at])
        level = int(self.table[before, source].argmin()) if calls[at] else level - taken
        return int(low) + at, before, level
