"""Column generation: rounds with loads on average first, then with loads trip by trip."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from routing.planning.bound.branching import Branch, Duals, Fleet
from routing.planning.bound.labels import MOST_CUTS, Labelling, ModelDuals
from routing.planning.bound.master import Master
from routing.planning.bound.model import FAR, TruckModel
from routing.planning.bound.ng_sets import enlarge, nearest_sets
from routing.planning.bound.rounds import Pricing, Round
from routing.planning.machine_code.records import Floats

ROUNDS_A_TIME = 15
SMOOTHING, SMOOTHING_AT_FIRST, FEW = 0.7, 0.9, 4
"""The share of the best duals known in those that are tried next; more of it while fewer than ``FEW`` rounds
a visit are known."""

FURTHER, MUCH_FURTHER = 1.2, 1.6
STEPS = 150
FINE_STEPS = 300
LEVELS, FINE_LEVELS = 16, 40
CELLS = 8_000_000
COARSE_STEPS = 75
LARGE = 150
NG_SIZE = 2
NG_MOST = 3
NG_OF_LABELS = 8
MOST_STEPS = 3000
ROUGH, NEAR, CLOSE = 2e-3, 5e-4, 1e-5
NARROW, WIDER = 4000, (16_000, 80_000)
CUTS_A_TIME, VIOLATED = 12, 0.05
WHOLE = 0.02
AHEAD = 2e-3


Price = Callable[[Branch, Duals, Master], tuple[float, int]]
"""Price under duals: the Lagrangian bound, and how many rounds are new."""


class Search:
    """Column generation with smoothed duals.

    Parameters
    ----------
    models : sequence of TruckModel
        One for each set of identical trucks, every one able to serve something.
    penalties : array, [visit]
        What leaving each visit unserved costs.
    visit_duals : array, [visit]
        Duals to begin with.
    note : callable
        Hears every bound.
    over : callable
        Whether to stop; asked before every pricing.
    upper : float
        The price of a known plan: no better bound is sought.
    known : sequence of (int, Round)
        Rounds to begin with, each with the position of its model.
    """

    def __init__(
        self,
        models: Sequence[TruckModel],
        penalties: Floats,
        visit_duals: Floats,
        note: Callable[[float], None],
        over: Callable[[], bool],
        upper: float = FAR,
        known: Sequence[tuple[int, Round]] = (),
    ) -> None:
        self.models, self.penalties, self.note, self.over = models, penalties, note, over
        self.upper, self.plan = upper, known
        self.visits = [list(model.visits) for model in models]
        counts = tuple(m.count for m in models)
        fleet = Fleet((0,) * (len(counts) + 1), (*counts, sum(counts)))
        resources = [np.zeros(model.use.shape[1]) for model in models]
        duals = Duals(np.minimum(visit_duals, penalties), resources, np.zeros(0))
        self.branches = [Branch(fleet, duals)]
        self.standing = sum(m.count * m.idle for m in models)

    def run(self) -> None:
        """Loads on average with larger and larger ng-sets, then loads by trip, as far as the time goes."""
        steps = max(_steps(model) for model in self.models)
        if steps > MOST_STEPS:
            return
        large = len(self.penalties) > LARGE
        ng_sets = [nearest_sets(model, 0 if large else NG_SIZE) for model in self.models]
        self._price_with(ng_sets, max(COARSE_STEPS if large else STEPS, steps), LEVELS)
        root = self.branches[0]
        master = self._new_master(root.fleet)
        self._stage(self._average, ROUGH, root, master)
        self._split(root, master)
        for k, some in enumerate(ng_sets):
            enlarge(some, master.chosen(k), NG_MOST)
        self._price_with(ng_sets, max(FINE_STEPS, steps), FINE_LEVELS)
        own = [m.use.shape[1] - m.shared for m in self.models]
        self.own_duals = [d[:count] for d, count in zip(root.duals.resources, own, strict=True)]
        self._by_trips()

    def _new_master(self, fleet: Fleet) -> Master:
        master = Master(self.models, self.penalties)
        master.limit(fleet)
        return master

    def _by_trips(self) -> None:
        """Raise the lowest branch, or branch, until time is up or every branch is done."""
        ng_sets = [nearest_sets(model, NG_OF_LABELS) for model in self.models]
        self._label_with(ng_sets)
        master = self._new_master(self.branches[0].fleet)
        for k, found in self.plan:
            master.add(k, found)
        while not self.over():
            branch = min((b for b in self.branches if not b.done), key=lambda b: b.bound, default=None)
            if branch is None or branch.bound > min(b.bound for b in self.branches):
                return
            self._raise(branch, master, ng_sets)

    def _raise(self, branch: Branch, master: Master, ng_sets: list[list[list[int]]]) -> None:
        """Raise the bound of a branch by larger ng-sets and cuts, or split it."""
        master.limit(branch.fleet)
        close = NEAR
        while not self.over() and branch.bound < self.upper:
            if not self._stage(self._by_trip, close, branch, master):
                return
            if self._split(branch, master):
                return
            grown = False
            for k, some in enumerate(ng_sets):
                grown |= enlarge(some, master.chosen(k), len(some))
            if grown:
                self._label_with(ng_sets)
            cuts = master.violated_cuts(min(CUTS_A_TIME, MOST_CUTS - len(master.cuts)), VIOLATED)
            for cut in cuts:
                master.cut(cut)
            if not cuts and not grown:
                if close == CLOSE:
                    branch.done = True
                    return
                close = CLOSE

    def _split(self, branch: Branch, master: Master) -> bool:
        """Branch on fleet size, where the linear program uses a fractional number of trucks."""
        out = master.solve(self.penalties).trucks_out
        counts = [float(out.sum()), *out.tolist()]
        at = next((i for i, c in enumerate(counts) if abs(c - round(c)) > WHOLE), None)
        if at is None:
            return False
        self.branches.remove(branch)
        self.branches += branch.split(at - 1, int(np.floor(counts[at])))
        return True

    def _label_with(self, ng_sets: list[list[list[int]]]) -> None:
        self.labellings = [Labelling(m, some) for m, some in zip(self.models, ng_sets, strict=True)]

    def _price_with(self, ng_sets: list[list[list[int]]], steps: int, levels: int) -> None:
        self.pricings = []
        for model, some in zip(self.models, ng_sets, strict=True):
            widest = len(some) << max(map(len, some))
            # Memory for the tables is not without end: large days are counted in fewer levels.
            fit = max(1, min(levels, CELLS // (steps * widest)))
            self.pricings.append(Pricing(model, some, steps, fit))

    def _stage(self, price: Price, close: float, branch: Branch, master: Master) -> bool:
        """Price and solve in turn until the bound meets the linear program; False if it does not.

        The duals tried are held near the best known: by smoothing, and by a cap on what a visit pays
        (``reach`` above its best dual; the linear program may leave it unserved at that price).
        """
        narrow, smoothing = float(np.median(branch.duals.visits)) / 2 + 1.0, 1.0
        reach = narrow
        duals, best = branch.duals, -np.inf
        while not self.over() and branch.bound < self.upper:
            value, added = price(branch, duals, master)
            if value == -np.inf:
                break
            if value > best:
                best, branch.duals = value, duals
                branch.bound = max(branch.bound, value)
                self.note(min(b.bound for b in self.branches))
                reach *= FURTHER if added else MUCH_FURTHER
                smoothing *= 0.75
            elif added:
                reach, smoothing = max(narrow, reach / 2), SMOOTHING
            elif smoothing:
                smoothing = 0.0 if smoothing < 0.2 else smoothing / 2
            else:
                # The duals of the linear program itself lead nowhere: labels are too many to follow all.
                return True
            if self._behind(branch):
                return False
            cap = np.minimum(self.penalties, branch.duals.visits + reach)
            solved = master.solve(cap)
            if solved.total - best <= close * (1.0 + abs(solved.total)):
                if not (solved.unserved & (cap < self.penalties)).any():
                    return True
                reach, smoothing = reach * 3, SMOOTHING
                continue
            # While few rounds are known, what they say of duals is hardly worth following.
            few = close < ROUGH and len(master.known) < FEW * len(duals.visits)
            smoothing = SMOOTHING_AT_FIRST if few and smoothing else min(smoothing, SMOOTHING)
            found = solved.duals
            capped = Duals(np.minimum(found.visits, self.penalties), found.resources, found.cuts)
            duals = branch.duals.smoothed(capped, smoothing)
        return False

    def _behind(self, branch: Branch) -> bool:
        """Whether another branch is what keeps the bound low."""
        lowest = min(b.bound for b in self.branches)
        return branch.bound > lowest + AHEAD * (abs(lowest) + 1.0) and self.upper > lowest

    def _stocks(self, duals: Duals) -> Floats:
        """The duals of the stocks that all models share."""
        return duals.resources[0][len(duals.resources[0]) - self.models[0].shared :]

    def _lagrangian(self, branch: Branch, duals: Duals, least: Sequence[float]) -> float:
        """The bound of duals, whatever they are, where the least reduced cost of each model is this."""
        value = float(duals.visits.sum() - self._stocks(duals).sum() - duals.cuts.sum()) + self.standing
        extra = [cost - model.idle for cost, model in zip(least, self.models, strict=True)]
        return value + branch.fleet.cheapest(extra)

    def _average(self, branch: Branch, duals: Duals, master: Master) -> tuple[float, int]:
        """``Price`` with loads on average."""
        least, added = [], 0
        for k, pricing in enumerate(self.pricings):
            if self.over():
                return -np.inf, 0
            least.append(pricing.price(duals.visits[self.visits[k]], duals.resources[k]))
            added += sum(master.add(k, found) for found in pricing.best(ROUNDS_A_TIME))
        return self._lagrangian(branch, duals, least), added

    def _by_trip(self, branch: Branch, duals: Duals, master: Master) -> tuple[float, int]:
        """``Price`` with loads trip by trip; a wider search where a narrow one finds nothing."""
        stocks = self._stocks(duals)
        duals = duals.with_cuts(len(master.cuts))
        found = []
        for k, pricing in enumerate(self.pricings):
            if self.over():
                return -np.inf, 0
            mine = self._of_model(k, duals, master)
            pricing.price(mine.visits, np.append(mine.own, stocks))
            known = master.least(k, duals, stocks)
            found.append(self.labellings[k].price(pricing, mine, known, NARROW, self.over))
        value, added = self._outcome(branch, duals, found, master)
        for wider in WIDER:
            if added or value > branch.bound or self.over():
                break
            found = [labelling.go_on(wider, self.over) for labelling in self.labellings]
            value, added = self._outcome(branch, duals, found, master)
        return value, added

    def _outcome(
        self, branch: Branch, duals: Duals, found: Sequence[tuple[float, list[Round]]], master: Master
    ) -> tuple[float, int]:
        """The bound, and how many of the rounds found for each model are new."""
        value = self._lagrangian(branch, duals, [least for least, _ in found])
        return value, sum(master.add(k, one) for k, (_, rounds) in enumerate(found) for one in rounds)

    def _of_model(self, k: int, duals: Duals, master: Master) -> ModelDuals:
        """The duals of a model, with the cuts that are charged in its own numbers."""
        place = {v: i for i, v in enumerate(self.visits[k])}
        charged = [
            ([place[v] for v in cut if v in place], float(dual))
            for cut, dual in zip(master.cuts, duals.cuts, strict=True)
            if dual > 0.0
        ]
        cuts, cut_duals = [cut for cut, _ in charged], [dual for _, dual in charged]
        return ModelDuals(
            duals.visits[self.visits[k]], self.own_duals[k], self._stocks(duals), cuts, cut_duals
        )


def _steps(model: TruckModel) -> int:
    """How many steps of time the hours need at least, for every way to last one or more."""
    shortest = min(float(way.seconds[:-1].min(initial=FAR)) for way in model.ways)
    return int((model.hours.longest_s + model.hours.credit_s) / max(1e-6, shortest)) + 1
