"""State what the rounds of one kind of truck cost and take at the least, as arcs between visits.

Every simplification here is downward: no round that the exact rules allow costs or lasts less than its arcs.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from routing.planning.bound.model import FAR, Call, Cargo, TruckModel, Way, cargo_of, hours_of, parts_given
from routing.planning.bound.resources import Resources, stocks_of
from routing.planning.evaluate.state import Judge
from routing.planning.machine_code.records import Flags, Floats
from routing.planning.problem.problem import Problem, visit_ml


def truck_models(problem: Problem) -> list[TruckModel]:
    """One model for each set of identical trucks; a truck that can serve nothing has no visits in it."""
    identical, judge = problem.identical_trucks, Judge(problem)
    return [
        _Arcs(problem, k).model(identical.count(k), max(0.0, judge(k, ()).cost))
        for k in sorted(set(identical))
    ]


class _Arcs:
    """Lays out the arcs of one truck."""

    def __init__(self, problem: Problem, truck: int) -> None:
        self.problem, self.truck, self.spec = problem, truck, problem.trucks[truck]
        spec = self.spec
        self.drive = np.asarray(problem.drive_s[spec.matrix], dtype=float)
        self.metres = np.asarray(problem.distance_m[spec.matrix], dtype=float)
        self.start, self.end = problem.depots[spec.start].place, problem.depots[spec.end].place
        self.depots = list(spec.refill_depots)
        self.stocks = stocks_of(problem)
        sources = sorted({self.start, *(problem.depots[d].place for d in self.depots)})
        self.soonest = spec.earliest_s + shortest_from(self.drive, [self.start])
        self.carried_m = shortest_from(self.metres, sources)
        self.visits = self._servable()
        self.places = np.array([problem.visits[v].place for v in self.visits], dtype=int)
        self.froms = np.append(self.places, self.start)
        self.rank = np.array([problem.visits[v].rank for v in self.visits], dtype=int)
        self.ranks = np.append(self.rank, spec.rank)
        depots = np.array([problem.depots[d].place for d in self.depots], dtype=int)
        self.by = {int(place): at for at, place in enumerate(depots)}
        self.short_drive = shortest_path_closure(self.drive[depots[:, None], depots[None, :]])
        self.short_metres = shortest_path_closure(self.metres[depots[:, None], depots[None, :]])
        self.may_wash = bool(len(set(self.ranks.tolist())) > 1 and any(d.wash for d in problem.depots))
        load = min(0.0, spec.fuel_per_g) * max(0, spec.gross_g - spec.tare_g)
        self.per_m = spec.per_m + spec.fuel_price * (spec.fuel_empty + load)
        self.idle_per_s = spec.idle_l_per_s * spec.fuel_price
        self.falling = self.ranks[:, None] > self.rank[None, :]
        self.standing_s, self.standing_money, self.credit_s = self._standing()

    def _servable(self) -> tuple[int, ...]:
        problem, spec = self.problem, self.spec
        able = []
        for v, trucks in enumerate(problem.eligible_trucks):
            opens = problem.openings[self.truck][v]
            if self.truck in trucks and opens and opens[-1][1] >= self.soonest[problem.visits[v].place]:
                able.append(v)
        longest = min(spec.max_s, spec.latest_s - spec.earliest_s)
        return tuple(able) if longest > 0 else ()

    def model(self, count: int, idle: float) -> TruckModel:
        """The arcs and resources of the truck."""
        self.resources = Resources(self.problem, self.spec, self.visits, self.depots, self.stocks)
        self.calls = self._calls(self.resources.start, self.resources.calls)
        home_s = self.drive[self.places, self.end]
        # Money that loading done before the day may save.
        spared = self.credit_s * (self.spec.per_s + self.idle_per_s)
        return TruckModel(
            truck=self.truck,
            count=count,
            visits=self.visits,
            ways=tuple(self._ways(self.resources.start)),
            use=self.resources.use,
            home_s=home_s,
            home_money=self.metres[self.places, self.end] * self.per_m + home_s * self.spec.per_s,
            hours=hours_of(self.spec, self.credit_s, spared),
            spared=spared,
            idle=idle,
            standing=self.standing_money,
            latest_s=np.array([self._latest_s(v) for v in self.visits]),
            cargo=self._cargo(),
            shared=len(self.stocks),
        )

    def _latest_s(self, visit: int) -> float:
        """The elapsed time by which the crew must have left a visit, if it sets out as early as it may."""
        problem, spec = self.problem, self.spec
        last = problem.openings[self.truck][visit][-1][1]
        return float(last + problem.service_s[self.truck][visit] - spec.earliest_s)

    def _standing(self) -> tuple[Floats, Floats, float]:
        """Seconds and money of each visit itself: standing, loading what it takes, carrying it there.

        And the seconds of loading that what is aboard already may save.
        """
        problem, spec = self.problem, self.spec
        per_ml = self._loading_s_per_ml()
        seconds, money = np.zeros(len(self.visits)), np.zeros(len(self.visits))
        self.carry = np.zeros(len(self.visits))
        for at, v in enumerate(self.visits):
            visit, service_s = problem.visits[v], problem.service_s[self.truck][v]
            pumped_s = sum(ml * s for ml, s in zip(visit.bulk_ml, per_ml, strict=True))
            pails_s: float = visit.pail_count * problem.pail_load_s
            if visit.pail_ml:
                pails_s += sum(ml * s for ml, s in zip(visit.pail_ml, per_ml, strict=True))
            seconds[at] = service_s + pumped_s + pails_s
            running_s = pumped_s + (service_s if any(visit.bulk_ml) else 0)
            grams: float = visit.pail_count * problem.pail_g
            grams += sum(visit_ml(visit, s) * d for s, d in enumerate(problem.density_g_ml))
            carried = grams * self.carried_m[visit.place]
            self.carry[at] = max(0.0, spec.fuel_per_g) * spec.fuel_price * carried
            money[at] = seconds[at] * spec.per_s + running_s * self.idle_per_s + self.carry[at]
        credit_s = sum(ml * s for ml, s in zip(spec.level_ml, per_ml, strict=True))
        credit_s += sum(spec.pails_aboard) * problem.pail_load_s
        credit_s += sum(ml * s for ml, s in zip(spec.pail_ml_aboard, per_ml, strict=False))
        return seconds, money, credit_s

    def _loading_s_per_ml(self) -> list[float]:
        """Seconds a millilitre of each syrup at the depot that fills fastest."""
        found = []
        for s in range(len(self.problem.density_g_ml)):
            rows = [self.problem.depots[d].supplies[s] for d in (self.spec.start, *self.depots)]
            rates = [row.rate_ml_s for row in rows if row is not None and row.rate_ml_s > 0]
            found.append(1.0 / max(rates) if rates else 0.0)
        return found

    def _ways(self, start_gain: Floats) -> list[Way]:
        """All ways: without a call, by one depot (alike ones together), by several."""
        found = [Way(*self._direct(), np.zeros(len(start_gain)), start_gain, False)]
        if (laden := self._laden()) is not None:
            found.append(laden)
        by_gain: dict[bytes, list[Call]] = {}
        for call in self.calls:
            by_gain.setdefault(call.gain.tobytes(), []).append(call)
        for alike in by_gain.values():
            pair = _least([(call.seconds, call.money) for call in alike])
            found.append(Way(*pair, alike[0].gain, alike[0].first_gain, True))
        return found

    def _cargo(self) -> Cargo:
        aboard = sum(self.spec.pails_aboard)
        supplies = self.problem.depots[self.spec.start].supplies
        racked = self.problem.depots[self.spec.start].pails and any(row is not None for row in supplies)
        at_start = [
            have if row is None else room
            for room, have, row in zip(self.spec.capacity_ml, self.spec.level_ml, supplies, strict=True)
        ]
        pails = self.spec.pail_slots if racked else 0
        return cargo_of(
            self.problem,
            self.spec,
            self.visits,
            at_start=[*at_start, max(pails, aboard)],
            laden=[*self.spec.level_ml, aboard],
            metres=self._direct_tables()[1],
            calls=tuple(self.calls),
            carry=self.carry,
            carried_m=self.carried_m[self.places],
            stocks=self.stocks,
        )

    def _calls(self, start_gain: Floats, gains: Floats) -> list[Call]:
        """A call for each depot, and for two in a row where the first has what the second has not."""
        gives = [parts_given(self.problem, self.visits, d) for d in self.depots]
        found = [
            self._call([d, d], self._by(d), gains[at], gives[at], start_gain)
            for at, d in enumerate(self.depots)
        ]
        singles = list(found)
        unions = {(one | other).tobytes() for one in gives for other in gives}
        threes = {(a | b | c).tobytes() for a in gives for b in gives for c in gives} - unions
        every = np.logical_or.reduce(gives) if gives else np.zeros(0, dtype=bool)
        for a, first in enumerate(self.depots):
            for b, second in enumerate(self.depots):
                if a != b and (gives[a] & ~gives[b]).any():
                    both = every if threes else gives[a] | gives[b]
                    gain = gains.max(axis=0) if threes else np.maximum(gains[a], gains[b])
                    tables = self._by_two(first, second)
                    if not any(
                        (gives[at] == both).all()
                        and (singles[at].seconds <= tables[0]).all()
                        and (singles[at].money <= tables[1]).all()
                        for at in (a, b)
                    ):
                        found.append(self._call([first, second], tables, gain, both, start_gain))
        return found

    def _call(
        self, by: list[int], tables: tuple[Floats, Floats], gain: Floats, gives: Flags, start_gain: Floats
    ) -> Call:
        first, last = (self.problem.depots[d].place for d in by)
        before, onward = self.metres[self.froms, first], self.metres[last, self.places]
        elsewhere = np.array([any(d != at for d in by) for at, _, _ in self.stocks], dtype=bool)
        return Call(*tables, gain, np.maximum(gain, start_gain), gives, before, onward, elsewhere)

    def _direct(self) -> tuple[Floats, Floats]:
        """Straight on, with at most a wash between; from the start after loading there."""
        return self._priced(*self._direct_tables())

    def _direct_tables(self) -> tuple[Floats, Floats]:
        """Seconds and metres of the direct ways."""
        problem, spec = self.problem, self.spec
        seconds, metres = self._table(self.drive), self._table(self.metres)
        falling = self.falling
        seconds[falling] = FAR
        if self.may_wash:
            for depot in (problem.depots[d] for d in self.depots if problem.depots[d].wash):
                by = self._through(self.drive, [depot.place]) + problem.wash_s
                seconds = np.minimum(seconds, by)
                metres = np.minimum(metres, self._through(self.metres, [depot.place]))
            if problem.depots[spec.start].wash:
                by = self._table(self.drive)[-1] + problem.wash_s
                seconds[-1] = np.minimum(seconds[-1], by)
        seconds[-1] += problem.depots[spec.start].setup_s
        supplies = problem.depots[spec.start].supplies
        for at, v in enumerate(self.visits):
            for s, ml in enumerate(problem.visits[v].bulk_ml):
                if ml > spec.level_ml[s] and supplies[s] is None:
                    seconds[-1, at] = FAR
        return seconds, metres

    def _laden(self) -> Way | None:
        """From the start with what is aboard, without loading; None where that serves nothing."""
        problem, spec = self.problem, self.spec
        pails = sum(spec.pails_aboard)
        serves = [
            all(ml <= have for ml, have in zip(problem.visits[v].bulk_ml, spec.level_ml, strict=True))
            and problem.visits[v].pail_count <= pails
            for v in self.visits
        ]
        if not any(serves):
            return None
        seconds = np.full((len(self.visits) + 1, len(self.visits)), FAR)
        seconds[-1, serves] = self._table(self.drive)[-1, serves]
        if problem.depots[spec.start].wash:
            seconds[-1, self.falling[-1]] += problem.wash_s
        else:
            seconds[-1, self.falling[-1]] = FAR
        gain = self.resources.laden
        return Way(*self._priced(seconds, self._table(self.metres)), np.zeros(len(gain)), gain, False)

    def _by(self, d: int) -> tuple[Floats, Floats]:
        """By one depot where something is loaded, perhaps by another for a wash."""
        problem, depot = self.problem, self.problem.depots[d]
        seconds = self._through(self.drive, [depot.place]) + depot.setup_s
        metres = self._through(self.metres, [depot.place])
        seconds[self.falling] = seconds[self.falling] + problem.wash_s if depot.wash else FAR
        for w in self.depots if self.may_wash else ():
            if w != d and problem.depots[w].wash:
                place = problem.depots[w].place
                for order in ([place, depot.place], [depot.place, place]):
                    by = self._through(self.drive, order) + problem.wash_s + depot.setup_s
                    seconds = np.minimum(seconds, by)
                    metres = np.minimum(metres, self._through(self.metres, order))
        return self._priced(seconds, metres)

    def _by_two(self, first: int, second: int) -> tuple[Floats, Floats]:
        """By two depots where something is loaded, or more."""
        depots = [self.problem.depots[first], self.problem.depots[second]]
        places = [d.place for d in depots]
        seconds = self._through(self.drive, places) + sum(d.setup_s for d in depots)
        washing = self.problem.wash_s if self.may_wash else FAR
        seconds = np.where(self.falling, seconds + washing, seconds)
        return self._priced(seconds, self._through(self.metres, places))

    def _table(self, table: Floats) -> Floats:
        return np.asarray(table[self.froms[:, None], self.places[None, :]])

    def _through(self, table: Floats, places: list[int]) -> Floats:
        """The least from everywhere through some depots in order, over others between, to every visit."""
        if table is self.drive:
            short, of = self.short_drive, self.by
        else:
            short, of = self.short_metres, self.by
        between = sum(float(short[of[a], of[b]]) for a, b in pairwise(places))
        there = table[self.froms, places[0]] + between
        return np.asarray(there[:, None] + table[places[-1], self.places][None, :])

    def _priced(self, seconds: Floats, metres: Floats) -> tuple[Floats, Floats]:
        """Seconds and money, with what the visit itself takes."""
        seconds = np.minimum(FAR, seconds + self.standing_s)
        np.fill_diagonal(seconds[:-1], FAR)
        money = metres * self.per_m + (seconds - self.standing_s) * self.spec.per_s + self.standing_money
        return seconds, np.where(seconds >= FAR, FAR, money)


def shortest_path_closure(table: Floats) -> Floats:
    """The table with detours over other places where they are shorter."""
    short = table.copy()
    np.fill_diagonal(short, 0.0)
    for k in range(len(short)):
        short = np.minimum(short, short[:, k : k + 1] + short[k : k + 1, :])
    return short


def shortest_from(table: Floats, sources: list[int]) -> Floats:
    """The least from any of some places to every place, over any places between."""
    nearest = table[sources].min(axis=0)
    nearest[sources] = 0.0
    while True:
        further = np.minimum(nearest, (nearest[:, None] + table).min(axis=0))
        if np.array_equal(further, nearest):
            return np.asarray(nearest)
        nearest = further


def _least(pairs: list[tuple[Floats, Floats]]) -> tuple[Floats, Floats]:
    """The least seconds and, apart from that, the least money."""
    return np.minimum.reduce([p[0] for p in pairs]), np.minimum.reduce([p[1] for p in pairs])
