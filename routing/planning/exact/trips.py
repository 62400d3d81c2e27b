"""Floors of what one trip of a truck costs, for every subset of visits that it may serve.

A trip goes from a depot call to the next call or home. Its floor is the cheapest order of its visits by
dynamic programming over subsets (M. Held & R.M. Karp, J. SIAM 10(1):196, 1962). Left out, so that it is no
more than any real trip: waits, breaks, opening hours, stock, empties, spare syrup, whole seconds, and syrup
aboard for later trips. Kept: tanks, rack, legal mass, gates, hygiene within the trip, fuel by what must be
aboard.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from routing.planning.exact.subsets import Bools, Floats, Subsets
from routing.planning.problem.problem import Problem, Supply, TruckSpec, Visit

SLACK_G = 1.0
"""The exact rules forgive half a gram; sums in another order differ by far less than the other half."""


@dataclass(frozen=True)
class Rates:
    """What a metre, a metre with a gram aboard, a second, a second of pumping, and a litre count."""

    per_m: float
    per_m_g: float
    per_s: float
    per_pumped_s: float
    per_l: float


def money(spec: TruckSpec) -> Rates:
    """Rates that count money."""
    per_m = spec.per_m + spec.fuel_price * spec.fuel_empty
    price = spec.fuel_price
    return Rates(per_m, price * spec.fuel_per_g, spec.per_s, price * spec.idle_l_per_s, price)


SECONDS = Rates(0.0, 0.0, 1.0, 0.0, 0.0)
"""Rates that count the seconds without waits and breaks."""


class Calls:
    """The depot calls of a truck: its start is call 0, its refill depots follow. What filling takes."""

    def __init__(self, subsets: Subsets, truck: int) -> None:
        self.subsets, self.problem, self.truck = subsets, subsets.problem, truck
        self.spec = self.problem.trucks[truck]
        self.depots = (self.spec.start, *self.spec.refill_depots)
        kinds = range(len(self.problem.density_g_ml))
        paces = [[1 / s.rate_ml_s for d in self.depots if (s := self._supply(d, kind))] for kind in kinds]
        self.slowest = [max(pace, default=0.0) for pace in paces]
        self.quickest = [min(pace, default=0.0) for pace in paces]
        self.washes = subsets.ranks > 1 and self.problem.wash_s >= 0
        found = [self._loading(call) for call in range(len(self.depots))]
        self.fill_s = np.stack([fill for fill, _, _ in found])
        """Least seconds of loading by call and subset, for a trip that begins there and serves it."""
        self.pumped_s = np.stack([pumped for _, pumped, _ in found])
        self.loads_surely = np.stack([surely for _, _, surely in found])
        """Whether anything is surely taken aboard."""

    def _supply(self, depot: int, kind: int) -> Supply | None:
        return self.problem.depots[depot].supplies[kind]

    def can_wash(self, call: int) -> bool:
        """Whether the truck could be washed at a call."""
        return self.washes and self.problem.depots[self.depots[call]].wash

    def offers(self, call: int) -> frozenset[tuple[int, bool]]:
        """Kinds that can be taken aboard at a call: to pump, and (True) in pails."""
        depot = self.problem.depots[self.depots[call]]
        kinds = [s for s, supply in enumerate(depot.supplies) if supply is not None]
        return frozenset([(s, False) for s in kinds] + [(s, True) for s in kinds if depot.pails])

    def idle(self, call: int, end: int) -> Bools:
        """Subsets for which a call has nothing to give, nor for a trip after the one that ends so."""
        sets = self.subsets
        if call == 0 or (end and self.offers(call) - self.offers(end)):
            return np.zeros(sets.count, dtype=bool)
        asked = np.zeros(sets.count)
        for kind, pails in self.offers(call):
            asked += sets.pails_of[kind] if pails else sets.bulk_ml[kind]
        return np.asarray(asked == 0, dtype=bool)

    def beyond(self, call: int) -> Bools:
        """Subsets that ask for more than the call's depot holds."""
        depot = self.problem.depots[self.depots[call]]
        found: Bools = np.zeros(self.subsets.count, dtype=bool)
        for kind, supply in enumerate(depot.supplies):
            if supply is not None and supply.stock_ml is not None:
                need = self.subsets.bulk_ml[kind] - (
                    self.spare_ml(kind) if call else self.spec.level_ml[kind]
                )
                pails = self.subsets.pail_ml[kind] if depot.pails else 0.0
                found |= np.maximum(0.0, need) + pails > supply.stock_ml + 2.0
        return found

    def spare_ml(self, kind: int) -> float:
        """The most syrup of a kind that can be left aboard from before a call."""
        spec = self.spec
        return max(spec.level_ml[kind], int(self.problem.margin * spec.capacity_ml[kind]))

    def pace(self, call: int, kind: int) -> float:
        """Seconds a millilitre poured in a trip counts as filling.

        What the call lacks was filled elsewhere, at the quickest. What was spare from another call, at most a
        share ``margin`` of all that was wanted there, may have been filled quicker.
        """
        supply = self._supply(self.depots[call], kind)
        pace = 1 / supply.rate_ml_s if supply else self.quickest[kind]
        return float(pace - self.problem.margin * (self.slowest[kind] - pace))

    def _loading(self, call: int) -> tuple[Floats, Floats, Bools]:
        sets, depot = self.subsets, self.problem.depots[self.depots[call]]
        pumped, carried = np.zeros(sets.count), sets.pails * self.problem.pail_load_s
        pumps = np.zeros(sets.count, dtype=bool)
        fills = np.zeros(sets.count, dtype=bool)
        for kind, (bulk, pail) in enumerate(zip(sets.bulk_ml, sets.pail_ml, strict=True)):
            supply = depot.supplies[kind]
            level = self.spec.level_ml[kind] if call == 0 else 0
            pumped += np.maximum(0.0, bulk - level) * self.pace(call, kind)
            # What is aboard in the morning need not be filled later.
            pumped -= np.maximum(0.0, min(level, bulk[-1]) - bulk) * self.slowest[kind]
            carried += pail * (1 / supply.rate_ml_s if supply and depot.pails else self.quickest[kind])
            if supply:
                pumps |= bulk > (level if call == 0 else self.spare_ml(kind))
                fills |= (sets.pails_of[kind] > 0) & depot.pails
        fills |= pumps
        # Nothing may be loaded where the call is for a wash, or where the day begins.
        setup = np.where(fills, depot.setup_s, 0 if call == 0 or self.can_wash(call) else depot.setup_s)
        return pumped + carried + setup, pumped + np.where(pumps, carried + setup, 0.0), fills


class Trips:
    """Floors by the rates given, of every trip of a truck: legs, visits and filling."""

    def __init__(self, calls: Calls, rates: Rates) -> None:
        self.calls, self.rates = calls, rates
        self.sets, self.problem, self.spec = calls.subsets, calls.problem, calls.spec
        self.places = [v.place for v in self.problem.visits]
        self.from_places = [self.problem.depots[d].place for d in calls.depots]
        home = self.problem.depots[self.spec.end].place
        self.to_places = [home, *self.from_places[1:]]
        """Where a trip may end: home is 0, a refill call as in ``calls``."""
        self.fits, self.first_ok = self._possible()
        self.service = [self._service(v) for v in range(self.sets.visits)]
        self.loading = calls.fill_s * rates.per_s + calls.pumped_s * rates.per_pumped_s
        self.wash = [
            self.problem.wash_s * rates.per_s if calls.can_wash(c) else np.inf
            for c in range(len(calls.depots))
        ]
        self.between, self.between_g = self._arcs(self.places, self.places)
        self.out, self.out_g = self._arcs(self.from_places, self.places)
        self.back, _ = self._arcs(self.places, self.to_places)
        self.idle_run, _ = self._arcs(self.from_places, self.to_places)
        self.onward = [self._onward(end) for end in range(len(self.to_places))]
        """``onward[end][subset, v]``: from reaching v, serving v first and then the rest, to an end."""
        self.floor = self._floors()
        """``floor[call, end, subset]``."""

    def _arcs(self, origins: list[int], ends: list[int]) -> tuple[Floats, Floats]:
        """What a leg counts, and a gram on it."""
        metres = self.problem.distance_m[self.spec.matrix][np.ix_(origins, ends)].astype(float)
        seconds = self.problem.drive_s[self.spec.matrix][np.ix_(origins, ends)].astype(float)
        legs, grams = metres * self.rates.per_m + seconds * self.rates.per_s, metres * self.rates.per_m_g
        if self.spec.climb is not None and self.rates.per_l:
            climbed = np.array(self.spec.climb.rows[self.spec.matrix], dtype=float)[np.ix_(origins, ends)]
            lifted = climbed * self.spec.climb.fuel_l(1.0, 1.0) * self.rates.per_l
            legs, grams = legs + lifted * self.spec.tare_g, grams + lifted
        return legs, grams

    def _service(self, visit: int) -> float:
        pumped = self.rates.per_pumped_s if any(self.problem.visits[visit].bulk_ml) else 0.0
        return self.problem.service_s[self.calls.truck][visit] * (self.rates.per_s + pumped)

    def _possible(self) -> tuple[Bools, Bools]:
        """Subsets that fit one trip, and (subset, v) where v may be the first of them."""
        sets, spec = self.sets, self.spec
        able = sum(1 << i for i, v in enumerate(self.problem.visits) if may_visit(v, self.calls.truck))
        masks = np.arange(sets.count)
        fits = (masks & ~able == 0) & (masks > 0) & (sets.pails <= spec.pail_slots)
        fits &= spec.tare_g + sets.mass_g <= spec.gross_g + SLACK_G
        for bulk, capacity in zip(sets.bulk_ml, spec.capacity_ml, strict=True):
            fits &= bulk <= capacity
        given = frozenset().union(*map(self.calls.offers, range(len(self.calls.depots))))
        for kind, level in enumerate(spec.level_ml):
            fits &= ((kind, False) in given) | (sets.bulk_ml[kind] <= level)
            fits &= ((kind, True) in given) | (sets.pails_of[kind] == 0)
        first = np.zeros((sets.count, sets.visits), dtype=bool)
        for i, visit in enumerate(self.problem.visits):
            first[:, i] = fits & (masks >> i & 1 == 1) & (sets.cleanest >= sets.rank[i])
            if visit.max_gross_g is not None:
                first[:, i] &= spec.tare_g + sets.mass_g <= visit.max_gross_g + SLACK_G
        return fits, first

    def _onward(self, end: int) -> Floats:
        sets = self.sets
        found = np.full((sets.count, sets.visits), np.inf)
        for masks in sets.by_size[1:]:
            for v in range(sets.visits):
                chosen = masks[self.first_ok[masks, v]]
                if not len(chosen):
                    continue
                rest = chosen ^ (1 << v)
                if rest[0]:
                    next_legs = self.between[v] + sets.mass_g[rest][:, None] * self.between_g[v] + found[rest]
                    found[chosen, v] = self.service[v] + next_legs.min(axis=1)
                else:
                    found[chosen, v] = self.service[v] + self.back[v, end]
        return found

    def _floors(self) -> Floats:
        calls, ends = range(len(self.from_places)), range(len(self.to_places))
        found = np.full((len(calls), len(ends), self.sets.count), np.inf)
        mass = self.sets.mass_g[:, None]
        for call in calls:
            for end in ends:
                legs = self.out[call] + mass * self.out_g[call] + self.onward[end]
                found[call, end] = legs.min(axis=1, initial=np.inf) + self.loading[call]
                found[call, end, self.calls.beyond(call)] = np.inf
                if not self.calls.can_wash(call):
                    found[call, end, self.calls.idle(call, end)] = np.inf
        return found


def may_visit(visit: Visit, truck: int) -> bool:
    """Whether a truck is let in."""
    return visit.trucks is None or truck in visit.trucks


def plain(problem: Problem) -> bool:
    """Whether floors hold for a problem: a day from its beginning, and nothing that pays for being done."""
    return problem.habit is None and all(
        not t.on_the_clock
        and not any(t.pails_aboard)
        and not t.empties_aboard
        and not t.rank
        and min(t.per_m, t.per_s, t.overtime_per_s, t.fixed, t.fuel_price, t.fuel_empty) >= 0
        and min(t.fuel_per_g, t.idle_l_per_s) >= 0
        and all(s > 0 for v, s in zip(problem.visits, problem.service_s[k], strict=True) if may_visit(v, k))
        for k, t in enumerate(problem.trucks)
    )
