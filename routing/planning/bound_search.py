"""Make columns and prices in turn: rounds with loads on average first, then with loads trip by trip."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from routing.planning.bound_labels import Labelling
from routing.planning.bound_master import Master
from routing.planning.bound_model import TruckModel
from routing.planning.bound_numbers import FAR, Floats
from routing.planning.bound_rounds import Pricing, Round

ROUNDS_A_TIME = 15
STEADY, STEADY_AT_FIRST, FEW = 0.7, 0.9, 4
FURTHER, MUCH_FURTHER = 1.2, 1.6
STEPS = 150
FINE_STEPS = 360
COARSE_STEPS = 75
LARGE = 150
FORGETFUL = 2
MOST_REMEMBERED = 5
REMEMBERED = 8
MOST_STEPS = 3000
ROUGH, CLOSE = 2e-3, 1e-5
WIDTHS = (1000, 5000, 25_000)


Price = Callable[[Floats, list[Floats], Master], tuple[float, int]]


class Search:
    """Column generation with steadied prices; ``note`` hears every bound, until it is ``over``."""

    def __init__(
        self,
        models: Sequence[TruckModel],
        leaving: Floats,
        worth: Floats,
        note: Callable[[float], None],
        over: Callable[[], bool],
    ) -> None:
        self.models, self.leaving, self.note, self.over = models, leaving, note, over
        self.at = [list(model.visits) for model in models]
        self.best = -np.inf
        self.worth = np.minimum(worth, leaving)
        self.asked = [np.zeros(model.use.shape[1]) for model in models]

    def run(self) -> None:
        """Loads on average with more and more memory, then loads by trip, as far as the time goes."""
        steps = max(_steps(model) for model in self.models)
        if steps > MOST_STEPS:
            return
        large = len(self.leaving) > LARGE
        near = [_near(model, 0 if large else FORGETFUL) for model in self.models]
        self._price_with(near, max(COARSE_STEPS if large else STEPS, steps))
        master = self._stage(self._average, ROUGH)
        for k, some in enumerate(near):
            _remember(some, master.chosen(k), MOST_REMEMBERED)
        self._price_with(near, max(FINE_STEPS, steps))
        near, grown = [_near(model, REMEMBERED) for model in self.models], True
        self.width = 0
        self.fixed = [a[: len(a) - m.shared] for a, m in zip(self.asked, self.models, strict=True)]
        while grown and not self.over():
            self.labellings = [Labelling(m, some) for m, some in zip(self.models, near, strict=True)]
            master = self._stage(self._by_trip, CLOSE)
            grown = False
            for k, some in enumerate(near):
                grown |= _remember(some, master.chosen(k), len(some))

    def _price_with(self, near: list[list[list[int]]], steps: int) -> None:
        self.pricings = [Pricing(m, some, steps) for m, some in zip(self.models, near, strict=True)]

    def _stage(self, price: Price, close: float) -> Master:
        """Price and solve in turn until the bound meets the linear program or the time is up."""
        master = Master(self.models, self.leaving)
        self.best = -np.inf
        narrow, steady = float(np.median(self.worth)) / 2 + 1.0, 1.0
        reach = narrow
        worth, asked, total = self.worth, self.asked, FAR
        while not self.over():
            value, added = price(worth, asked, master)
            if value == -np.inf:
                break
            self.note(value)
            if value > self.best:
                self.best, self.worth, self.asked = value, worth, asked
                reach *= FURTHER if added else MUCH_FURTHER
                steady *= 0.75
            elif added:
                reach, steady = max(narrow, reach / 2), STEADY
            else:
                steady = 0.0 if steady < 0.2 else steady / 2
            cap = np.minimum(self.leaving, self.worth + reach)
            total, found, costs, leaned = master.solve(cap)
            if total - self.best <= close * (1.0 + abs(total)):
                if not (leaned & (cap < self.leaving)).any():
                    return master
                reach, steady = reach * 3, STEADY
                continue
            # While few rounds are known, what they say of prices is hardly worth following.
            few = close < ROUGH and len(master.known) < FEW * len(worth)
            steady = STEADY_AT_FIRST if few and steady else min(steady, STEADY)
            worth = steady * self.worth + (1 - steady) * np.minimum(found, self.leaving)
            asked = [steady * a + (1 - steady) * b for a, b in zip(self.asked, costs, strict=True)]
        return master

    def _stock(self, asked: list[Floats]) -> Floats:
        """The prices of the stocks that all models share."""
        return asked[0][len(asked[0]) - self.models[0].shared :]

    def _average(self, worth: Floats, asked: list[Floats], master: Master) -> tuple[float, int]:
        """The bound of these prices with loads on average, and how many rounds are new."""
        value, added = float(worth.sum() - self._stock(asked).sum()), 0
        for k, (model, pricing) in enumerate(zip(self.models, self.pricings, strict=True)):
            if self.over():
                return -np.inf, 0
            least = pricing.price(worth[self.at[k]], asked[k])
            value += model.count * min(model.idle, least)
            added += sum(master.add(k, found) for found in pricing.best(ROUNDS_A_TIME))
        return value, added

    def _by_trip(self, worth: Floats, asked: list[Floats], master: Master) -> tuple[float, int]:
        """The same with loads trip by trip; a wider search where a narrow one finds nothing."""
        while True:
            stock = self._stock(asked)
            value, added = float(worth.sum() - stock.sum()), 0
            for k, (model, pricing) in enumerate(zip(self.models, self.pricings, strict=True)):
                mine = worth[self.at[k]]
                if self.over():
                    return -np.inf, 0
                prices = np.append(self.fixed[k], stock)
                pricing.price(mine, prices)
                known = min(model.idle, master.least(k, worth, stock))
                least, rounds = self.labellings[k].price(
                    pricing, mine, prices, known, WIDTHS[self.width], self.over
                )
                value += model.count * least
                added += sum(master.add(k, found) for found in rounds)
            if added or self.width + 1 == len(WIDTHS) or value > self.best or self.over():
                return value, added
            self.width += 1


def _remember(near: list[list[int]], rounds: Sequence[Round], most: int) -> bool:
    """Have what rounds came back to remembered on the way between; whether anything is new."""
    grown = False
    for found in rounds:
        seen: dict[int, int] = {}
        for at, i in enumerate(found.visits):
            between = sorted(set(found.visits[seen[i] + 1 : at])) if i in seen else []
            if all(i in near[j] or len(near[j]) < most for j in between):
                for j in between:
                    if i not in near[j]:
                        near[j].append(i)
                        grown = True
            seen[i] = at
    return grown


def _steps(model: TruckModel) -> int:
    """How many steps of time the hours need at least, for every way to last one or more."""
    shortest = min(float(way.seconds[:-1].min(initial=FAR)) for way in model.ways)
    return int((model.longest_s + model.credit_s) / max(1e-6, shortest)) + 1


def _near(model: TruckModel, most: int) -> list[list[int]]:
    """For each visit those that it pays most to come from or go to."""
    between = np.minimum.reduce([way.money[:-1] for way in model.ways])
    between = np.minimum(between, between.T)
    return [[int(j) for j in np.argsort(row, kind="stable")[:most] if row[j] < FAR] for row in between]
