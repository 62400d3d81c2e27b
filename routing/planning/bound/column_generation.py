"""Make columns and prices in turn: rounds with loads on average first, then with loads trip by trip."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from routing.planning.bound.branch import At, Branch
from routing.planning.bound.labels import MOST_CUTS, Asked, Labelling
from routing.planning.bound.master import Fleet, Master
from routing.planning.bound.model import TruckModel
from routing.planning.bound.numbers import FAR, Floats
from routing.planning.bound.rounds import Pricing, Round

ROUNDS_A_TIME = 15
STEADY, STEADY_AT_FIRST, FEW = 0.7, 0.9, 4
FURTHER, MUCH_FURTHER = 1.2, 1.6
STEPS = 150
FINE_STEPS = 300
LEVELS, FINE_LEVELS = 16, 40
CELLS = 8_000_000
COARSE_STEPS = 75
LARGE = 150
FORGETFUL = 2
MOST_REMEMBERED = 3
REMEMBERED = 8
MOST_STEPS = 3000
ROUGH, NEAR, CLOSE = 2e-3, 5e-4, 1e-5
NARROW, WIDER = 4000, (16_000, 80_000)
CUTS_A_TIME, BROKEN = 12, 0.05
WHOLE = 0.02
AHEAD = 2e-3


Price = Callable[[Branch, At, Master], tuple[float, int]]


class Search:
    """Column generation with steadied prices; ``note`` hears every bound, until it is ``over``."""

    def __init__(
        self,
        models: Sequence[TruckModel],
        leaving: Floats,
        worth: Floats,
        note: Callable[[float], None],
        over: Callable[[], bool],
        upper: float = FAR,
        known: Sequence[tuple[int, Round]] = (),
    ) -> None:
        self.models, self.leaving, self.note, self.over = models, leaving, note, over
        self.upper, self.plan = upper, known
        self.at = [list(model.visits) for model in models]
        worth = np.minimum(worth, leaving)
        counts = tuple(m.count for m in models)
        fleet = Fleet((0,) * (len(counts) + 1), (*counts, sum(counts)))
        at = At(worth, [np.zeros(model.use.shape[1]) for model in models], np.zeros(0))
        self.branches = [Branch(fleet, at)]
        self.standing = sum(m.count * m.idle for m in models)

    def run(self) -> None:
        """Loads on average with more and more memory, then loads by trip, as far as the time goes."""
        steps = max(_steps(model) for model in self.models)
        if steps > MOST_STEPS:
            return
        large = len(self.leaving) > LARGE
        near = [_near(model, 0 if large else FORGETFUL) for model in self.models]
        self._price_with(near, max(COARSE_STEPS if large else STEPS, steps), LEVELS)
        root = self.branches[0]
        master = self._new_master(root.fleet)
        self._stage(self._average, ROUGH, root, master)
        self._parted(root, master)
        for k, some in enumerate(near):
            _remember(some, master.chosen(k), MOST_REMEMBERED)
        self._price_with(near, max(FINE_STEPS, steps), FINE_LEVELS)
        self.fixed = [a[: len(a) - m.shared] for a, m in zip(root.at.asked, self.models, strict=True)]
        self._by_trips()

    def _new_master(self, fleet: Fleet) -> Master:
        master = Master(self.models, self.leaving)
        master.limit(fleet)
        return master

    def _by_trips(self) -> None:
        near = [_near(model, REMEMBERED) for model in self.models]
        self.labellings = [Labelling(m, some) for m, some in zip(self.models, near, strict=True)]
        master = self._new_master(self.branches[0].fleet)
        for k, found in self.plan:
            master.add(k, found)
        while not self.over():
            branch = min((b for b in self.branches if not b.done), key=lambda b: b.bound, default=None)
            if branch is None or branch.bound > min(b.bound for b in self.branches):
                return
            self._bounded(branch, master, near)

    def _bounded(self, branch: Branch, master: Master, near: list[list[list[int]]]) -> None:
        """Raise the bound of a branch, or part it in two."""
        master.limit(branch.fleet)
        close = NEAR
        while not self.over() and branch.bound < self.upper:
            if not self._stage(self._by_trip, close, branch, master):
                return
            if self._parted(branch, master):
                return
            grown = False
            for k, some in enumerate(near):
                grown |= _remember(some, master.chosen(k), len(some))
            if grown:
                self.labellings = [Labelling(m, some) for m, some in zip(self.models, near, strict=True)]
            cuts = master.broken_cuts(min(CUTS_A_TIME, MOST_CUTS - len(master.cuts)), BROKEN)
            for cut in cuts:
                master.cut(cut)
            if not cuts and not grown:
                if close == CLOSE:
                    branch.done = True
                    return
                close = CLOSE

    def _parted(self, branch: Branch, master: Master) -> bool:
        """Part a branch by how many trucks go out, where that is no whole number."""
        out = master.solve(self.leaving).out
        counts = [float(out.sum()), *out.tolist()]
        at = next((i for i, c in enumerate(counts) if abs(c - round(c)) > WHOLE), None)
        if at is None:
            return False
        self.branches.remove(branch)
        self.branches += branch.parted(at - 1, int(np.floor(counts[at])))
        return True

    def _price_with(self, near: list[list[list[int]]], steps: int, levels: int) -> None:
        self.pricings = []
        for model, some in zip(self.models, near, strict=True):
            widest = len(some) << max(map(len, some))
            # Memory for the tables is not without end: large days are counted in fewer levels.
            fit = max(1, min(levels, CELLS // (steps * widest)))
            self.pricings.append(Pricing(model, some, steps, fit))

    def _stage(self, price: Price, close: float, branch: Branch, master: Master) -> bool:
        """Price and solve in turn until the bound meets the linear program; False if it does not."""
        narrow, steady = float(np.median(branch.at.worth)) / 2 + 1.0, 1.0
        reach = narrow
        at, best = branch.at, -np.inf
        while not self.over() and branch.bound < self.upper:
            value, added = price(branch, at, master)
            if value == -np.inf:
                break
            if value > best:
                best, branch.at = value, at
                branch.bound = max(branch.bound, value)
                self.note(min(b.bound for b in self.branches))
                reach *= FURTHER if added else MUCH_FURTHER
                steady *= 0.75
            elif added:
                reach, steady = max(narrow, reach / 2), STEADY
            elif steady:
                steady = 0.0 if steady < 0.2 else steady / 2
            else:
                # The prices of the linear program themselves lead nowhere: labels are too many to follow all.
                return True
            if self._behind(branch):
                return False
            cap = np.minimum(self.leaving, branch.at.worth + reach)
            solved = master.solve(cap)
            if solved.total - best <= close * (1.0 + abs(solved.total)):
                if not (solved.left & (cap < self.leaving)).any():
                    return True
                reach, steady = reach * 3, STEADY
                continue
            # While few rounds are known, what they say of prices is hardly worth following.
            few = close < ROUGH and len(master.known) < FEW * len(at.worth)
            steady = STEADY_AT_FIRST if few and steady else min(steady, STEADY)
            at = branch.at.towards(
                At(np.minimum(solved.worth, self.leaving), solved.asked, solved.fines), steady
            )
        return False

    def _behind(self, branch: Branch) -> bool:
        """Whether another branch is what keeps the bound low."""
        lowest = min(b.bound for b in self.branches)
        return branch.bound > lowest + AHEAD * (abs(lowest) + 1.0) and self.upper > lowest

    def _stock(self, at: At) -> Floats:
        """The prices of the stocks that all models share."""
        return at.asked[0][len(at.asked[0]) - self.models[0].shared :]

    def _value(self, branch: Branch, at: At, least: Sequence[float]) -> float:
        """Lagrange's bound, where the cheapest rounds of the models cost so much beyond the prices."""
        value = float(at.worth.sum() - self._stock(at).sum() - at.fines.sum()) + self.standing
        return value + branch.fleet.cheapest([c - m.idle for c, m in zip(least, self.models, strict=True)])

    def _average(self, branch: Branch, at: At, master: Master) -> tuple[float, int]:
        """The bound of these prices with loads on average, and how many rounds are new."""
        least, added = [], 0
        for k, pricing in enumerate(self.pricings):
            if self.over():
                return -np.inf, 0
            least.append(pricing.price(at.worth[self.at[k]], at.asked[k]))
            added += sum(master.add(k, found) for found in pricing.best(ROUNDS_A_TIME))
        return self._value(branch, at, least), added

    def _by_trip(self, branch: Branch, at: At, master: Master) -> tuple[float, int]:
        """The same with loads trip by trip; a wider search where a narrow one finds nothing."""
        stock = self._stock(at)
        if len(at.fines) < len(master.cuts):
            at = at.towards(At(at.worth, at.asked, np.zeros(len(master.cuts))), 1.0)
        found = []
        for k, pricing in enumerate(self.pricings):
            if self.over():
                return -np.inf, 0
            asked = self._asked(k, at, master, stock)
            pricing.price(asked.worth, np.append(self.fixed[k], stock))
            known = master.least(k, at.worth, stock, at.fines)
            found.append(self.labellings[k].price(pricing, asked, known, NARROW, self.over))
        value, added = self._value(branch, at, [least for least, _ in found]), self._added(found, master)
        for wider in WIDER:
            if added or value > branch.bound or self.over():
                break
            found = [labelling.go_on(wider, self.over) for labelling in self.labellings]
            value, added = self._value(branch, at, [least for least, _ in found]), self._added(found, master)
        return value, added

    def _added(self, found: Sequence[tuple[float, list[Round]]], master: Master) -> int:
        """How many of the rounds found for each model are new."""
        return sum(master.add(k, one) for k, (_, rounds) in enumerate(found) for one in rounds)

    def _asked(self, k: int, at: At, master: Master, stock: Floats) -> Asked:
        """The prices of a model, with the cuts that cost something in its own numbers."""
        place = {v: i for i, v in enumerate(self.at[k])}
        fined = [
            ([place[v] for v in cut if v in place], float(fine))
            for cut, fine in zip(master.cuts, at.fines, strict=True)
            if fine > 0.0
        ]
        return Asked(at.worth[self.at[k]], self.fixed[k], stock, [c for c, _ in fined], [f for _, f in fined])


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
