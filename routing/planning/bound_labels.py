"""Find cheapest rounds that keep every load trip by trip, by labels grown from the end of the round.

Seen from the end it is known what must be aboard on each leg, so that tanks, racks, legal mass, weak bridges
and fuel by load are exact. Each label is held against what the way to it costs at the least by the relaxed
rounds of ``bound_rounds``; those that cannot beat what is known are dropped (completion bounds).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise

import numpy as np

from routing.planning.bound_cargo import Call
from routing.planning.bound_label_set import SLACK, Labels, best_of, cheapest, joined, within
from routing.planning.bound_model import TruckModel
from routing.planning.bound_numbers import FAR, Flags, Floats, Ints
from routing.planning.bound_rounds import Pricing, Round

CROWD = 4
SCARCE = 2.0
ROUNDS_A_TIME = 25


_Found = tuple[float, int, int, tuple[float, ...]]
"""A round found: its cost, how many labels lead to it, its last label, the shares of stocks it draws."""


class Labelling:
    """Cheapest rounds of one truck model with exact loads."""

    def __init__(self, model: TruckModel, near: Sequence[Sequence[int]]) -> None:
        self.model, self.cargo = model, model.cargo
        self.n = len(model.visits)
        self.borne = self.cargo.takes[:, :-1].sum(axis=0) > 0
        # Of so small a stock a single truck might draw more than there is.
        self.scarce = self.cargo.shares.full * SCARCE > 1.0
        self.kept = np.eye(self.n, dtype=bool)
        for i, some in enumerate(near):
            self.kept[i, list(some)] = True

    def price(
        self,
        pricing: Pricing,
        worth: Floats,
        resource: Floats,
        threshold: float,
        most: int,
        over: Callable[[], bool],
    ) -> tuple[float, list[Round]]:
        """Bound the least cost of a round from below, and find rounds that cost less than ``threshold``.

        ``pricing`` has priced its relaxed rounds under the same worth and resource prices. The bound is no
        more than ``threshold``. At most ``most`` labels of each length are followed, and
        none any further when it is ``over``.
        """
        own = len(resource) - self.model.shared
        self.own, self.stock = resource[:own], resource[own:]
        self.worth, self.asked = worth, self.model.use[:, :own] @ self.own
        self.pricing = pricing
        self.ahead = self._ahead()
        self.least = self.goal = threshold
        layer, layers = self._first(), []
        found: list[_Found] = []
        dropped = threshold
        while len(layer):
            layers.append(layer)
            self._finish(layer, len(layers) - 1, found)
            if over():
                dropped = min(dropped, float(layer.bound.min()))
                break
            layer, least = cheapest(self._grown(layer), CROWD * most)
            dropped = min(dropped, least)
            layer, least = cheapest(self._undominated(layer), most)
            dropped = min(dropped, least)
        found.sort()
        rounds = [self._round(layers, *one) for one in found[:ROUNDS_A_TIME]]
        return min(self.least, dropped), rounds

    def _ahead(self) -> Floats:
        """By steps of time after leaving a visit, and visit: the least cost of all before, and of closing.

        The last row is for what is too late.
        """
        pricing, model = self.pricing, self.model
        reached = np.minimum.reduceat(pricing.reached, pricing.memory.first[:-1], axis=1)
        steps = len(reached)
        closing = model.closing(np.arange(2 * steps, dtype=float) * pricing.step_s)
        ahead: Floats = np.full((steps + 1, self.n), FAR)
        for after in range(steps):
            ahead[after] = (reached + closing[after : after + steps, None]).min(axis=0)
        return np.asarray(np.minimum(ahead, FAR))

    def _first(self) -> Labels:
        """Every visit as the last."""
        model, cargo, n = self.model, self.cargo, self.n
        node = np.arange(n)
        labels = Labels(
            node, model.home_s.copy(), model.home_money.copy(), np.zeros(n),
            np.zeros((n, len(self.stock))), cargo.takes.copy(),
            np.eye(n, dtype=bool), np.full(n, -1), np.zeros(n),
        )  # fmt: skip
        step = np.minimum(labels.seconds / self.pricing.step_s, len(self.ahead) - 1).astype(np.int64)
        labels.bound = labels.money + self.ahead[step, node]
        return labels.take((labels.bound < self.least - SLACK) & self._holds(node, labels.load))

    def _holds(self, node: Ints, load: Floats) -> Flags:
        """Whether the truck may come to a node with a load."""
        cargo = self.cargo
        grams = load @ cargo.grams
        fits = (load <= cargo.most + SLACK).all(axis=1)
        fits &= load[:, :-2].sum(axis=1) <= cargo.tanks_ml + SLACK
        return np.asarray(fits & (grams <= np.minimum(cargo.room_g, cargo.gate_g[node])))

    def _committed(self, drawn: Floats, load: Floats) -> Floats:
        """Of each limited stock what must have been drawn there, wherever a load is still to come from."""
        anywhere = np.ones(len(self.stock), dtype=bool)
        return np.asarray(drawn - self.cargo.drawn_elsewhere(load, anywhere) - self.cargo.shares.level)

    def _in_stock(self, drawn: Floats) -> Flags:
        """Whether one truck alone does not overdraw a scarce stock."""
        return within(drawn[:, self.scarce], 1.0)

    def _grown(self, labels: Labels) -> Labels:
        """All labels with one visit more before them that may yet beat the threshold."""
        direct = self.model.ways[0]
        grams = labels.load @ self.cargo.grams
        on = labels.node
        haul = self.cargo.metres[:-1][:, on].T * grams[:, None]
        drawn = labels.drawn + self.cargo.shares.ml[on]
        parts = [
            self._extended(labels, direct.seconds[:-1], direct.money[:-1], haul, labels.load, 0.0, drawn)
        ]
        for call in self.cargo.calls:
            left, hauled = self._through(labels, call, grams)
            haul = hauled[:, None] + call.before_m[None, :-1] * (left @ self.cargo.grams)[:, None]
            gained = float(call.gain[: len(self.own)] @ self.own)
            rest = drawn - self.cargo.drawn_elsewhere(labels.load - left, call.elsewhere)
            parts.append(self._extended(labels, call.seconds[:-1], call.money[:-1], haul, left, gained, rest))
        return joined(parts)

    def _through(self, labels: Labels, call: Call, grams: Floats) -> tuple[Floats, Floats]:
        """What a call does not give, and gram metres from it on."""
        return np.where(call.gives, 0.0, labels.load), call.onward_m[labels.node] * grams

    def _extended(
        self,
        labels: Labels,
        seconds: Floats,
        money: Floats,
        haul: Floats,
        left: Floats,
        gained: float,
        drawn: Floats,
    ) -> Labels:
        cargo, on = self.cargo, labels.node
        late = labels.seconds[:, None] + seconds[:, on].T
        spent = (labels.money - cargo.carry[on] - self.worth[on])[:, None] + money[:, on].T
        spent += cargo.per_g_m * haul
        tied = labels.tied + self.asked[on] - gained
        carried = cargo.per_g_m * (left @ cargo.grams)[:, None] * cargo.carried_m[None, :]
        step = np.minimum(late / self.pricing.step_s, len(self.ahead) - 1).astype(np.int64)
        bound = (
            spent
            + (tied + drawn @ self.stock)[:, None]
            + carried
            + self.ahead[step, np.arange(self.n)[None, :]]
        )
        bound = np.where(labels.met, FAR, bound)
        label, node = np.nonzero(bound < self.least - SLACK)
        load = left[label] + cargo.takes[node]
        good = self._holds(node, load) & self._in_stock(self._committed(drawn, left))[label]
        label, node, load = label[good], node[good], load[good]
        met = labels.met[label] & self.kept[node]
        met[np.arange(len(node)), node] = True
        return Labels(
            node, late[label, node], spent[label, node], tied[label], drawn[label],
            load, met, label, bound[label, node],
        )  # fmt: skip

    def _finish(self, labels: Labels, depth: int, found: list[_Found]) -> None:
        """Begin rounds with the labels' nodes; keep those that cost less than the threshold."""
        model, cargo, on = self.model, self.cargo, labels.node
        base = labels.money - cargo.carry[on] - self.worth[on]
        grams = labels.load @ cargo.grams
        drawn = labels.drawn + cargo.shares.ml[on] - cargo.shares.level
        options: list[tuple[Floats, Flags, Floats]] = []
        ways = [(model.ways[0], cargo.at_start, cargo.away)]
        ways += [(way, cargo.laden, cargo.away & False) for way in model.ways[1:2] if not way.calls]
        for way, most, away in ways:
            cost = base + way.money[-1, on] + cargo.per_g_m * cargo.metres[-1, on] * grams
            cost += model.closing(labels.seconds + way.seconds[-1, on])
            rest = drawn - cargo.drawn_elsewhere(labels.load, away)
            options.append((cost, within(labels.load, most) & self._in_stock(rest), rest))
        for call in cargo.calls:
            left, hauled = self._through(labels, call, grams)
            hauled = hauled + call.before_m[-1] * (left @ cargo.grams)
            cost = base + call.money[-1, on] + cargo.per_g_m * hauled
            cost += model.closing(labels.seconds + call.seconds[-1, on])
            rest = drawn - cargo.drawn_elsewhere(labels.load - left, call.elsewhere)
            rest -= cargo.drawn_elsewhere(left, cargo.away)
            options.append((cost, within(left, cargo.at_start) & self._in_stock(rest), rest))
        self._keep(options, depth, found)

    def _keep(self, options: list[tuple[Floats, Flags, Floats]], depth: int, found: list[_Found]) -> None:
        """Keep the cheapest of some ways to begin where it is below the threshold."""
        costs = np.array([np.where(fits, cost + drawn @ self.stock, FAR) for cost, fits, drawn in options])
        which, best = costs.argmin(axis=0), costs.min(axis=0)
        good = np.nonzero(best < self.goal - SLACK)[0]
        for at in good[np.argsort(best[good], kind="stable")[:ROUNDS_A_TIME]].tolist():
            found.append((float(best[at]), depth, at, tuple(options[int(which[at])][2][at].tolist())))
        self.least = min(self.least, float(best.min()))

    def _undominated(self, labels: Labels) -> Labels:
        """Without labels that another at the same node beats in everything."""
        if len(labels) < 2:
            return labels
        # What is still to be loaded may yet be drawn elsewhere: more of it with the one that is beaten.
        cost = labels.money + self._committed(labels.drawn, labels.load) @ self.stock
        labels = labels.take(np.lexsort((labels.seconds, cost, labels.node)))
        drawn = self._committed(labels.drawn, labels.load)[:, self.scarce]
        judged = [labels.seconds, *drawn.T, labels.load @ self.cargo.grams, *labels.load.T[:-1][self.borne]]
        judged = [np.ascontiguousarray(column) for column in judged]
        octets = np.packbits(labels.met, axis=1)
        words = np.pad(octets, ((0, 0), (0, -octets.shape[1] % 8))).view(np.uint64)
        keep = np.ones(len(labels), dtype=bool)
        cuts = np.searchsorted(labels.node, np.arange(self.n + 1)).tolist()
        for low, high in pairwise(cuts):
            if high - low > 1:
                columns = [column[low:high] for column in judged]
                met = [np.ascontiguousarray(words[low:high, w]) for w in range(words.shape[1])]
                keep[low:high] = best_of(columns, met)
        return labels.take(keep)

    def _round(
        self, layers: list[Labels], cost: float, depth: int, at: int, drawn: tuple[float, ...]
    ) -> Round:
        order = []
        for layer in reversed(layers[: depth + 1]):
            order.append(int(layer.node[at]))
            at = int(layer.parent[at])
        money = cost + float(self.worth[order].sum()) - float(np.array(drawn) @ self.stock)
        return Round(tuple(order), money, (*(0.0,) * len(self.own), *drawn))
