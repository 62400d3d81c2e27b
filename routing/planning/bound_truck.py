"""State what the rounds of one kind of truck cost and take at the least, as arcs between visits.

Every simplification here is downward: no round that the exact rules allow costs or lasts less than its arcs.
"""

from __future__ import annotations

import numpy as np

from routing.planning.bound_model import FAR, Floats, TruckModel, Way
from routing.planning.bound_tables import closed, least, reach
from routing.planning.problem import Problem, visit_ml
from routing.planning.state import Judge


def truck_models(problem: Problem) -> list[TruckModel]:
    """One model for each kind of truck; trucks that can serve nothing have none."""
    twins = problem.twins
    judge = Judge(problem)
    models = []
    for k in sorted(set(twins)):
        idle = max(0.0, judge(k, ()).cost)
        model = _Maker(problem, k).model(twins.count(k), idle)
        models.append(model)
    return models


class _Maker:
    """Lays out the arcs of one truck."""

    def __init__(self, problem: Problem, truck: int) -> None:
        self.problem, self.truck, self.spec = problem, truck, problem.trucks[truck]
        spec = self.spec
        self.drive = np.asarray(problem.drive_s[spec.matrix], dtype=float)
        self.metres = np.asarray(problem.distance_m[spec.matrix], dtype=float)
        self.start, self.end = problem.depots[spec.start].place, problem.depots[spec.end].place
        self.depots = list(spec.refill_depots)
        sources = sorted({self.start, *(problem.depots[d].place for d in self.depots)})
        self.soonest = spec.earliest_s + reach(self.drive, [self.start])
        self.carried_m = reach(self.metres, sources)
        self.visits = self._servable()
        self.places = np.array([problem.visits[v].place for v in self.visits], dtype=int)
        self.froms = np.append(self.places, self.start)
        self.rank = np.array([problem.visits[v].rank for v in self.visits], dtype=int)
        self.ranks = np.append(self.rank, spec.rank)
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
        use, start_gain, call_gains = self._resources()
        home_s = self.drive[self.places, self.end]
        return TruckModel(
            truck=self.truck,
            count=count,
            visits=self.visits,
            ways=tuple(self._ways(start_gain, call_gains)),
            use=use,
            home_s=home_s,
            home_money=self.metres[self.places, self.end] * self.per_m + home_s * self.spec.per_s,
            spec=self.spec,
            credit_s=self.credit_s,
            idle=idle,
            standing=self.standing_money,
        )

    def _standing(self) -> tuple[Floats, Floats, float]:
        """Seconds and money of each visit itself: standing, loading what it takes, carrying it there.

        And the seconds of loading that what is aboard already may save.
        """
        problem, spec = self.problem, self.spec
        per_ml = self._loading_s_per_ml()
        seconds, money = np.zeros(len(self.visits)), np.zeros(len(self.visits))
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
            carry = max(0.0, spec.fuel_per_g) * spec.fuel_price * grams * self.carried_m[visit.place]
            money[at] = seconds[at] * spec.per_s + running_s * self.idle_per_s + carry
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

    def _resources(self) -> tuple[Floats, Floats, Floats]:
        """What visits use, what the start allows and what each refill depot adds; those that may bind.

        Columns: each syrup in tanks, all tanks together, pails, mass; each as a share of what the start
        allows.
        """
        problem = self.problem
        rows = [
            [*v.bulk_ml, sum(v.bulk_ml), v.pail_count, problem.load_g([i]) - 1.0]
            for i, v in ((i, problem.visits[i]) for i in self.visits)
        ]
        use = np.array(rows, dtype=float).reshape(len(self.visits), len(problem.density_g_ml) + 3)
        self.binds = np.ones(use.shape[1], dtype=bool)
        self.scale = np.ones(use.shape[1])
        start = self._gain(self.spec.start, aboard=True)
        self.binds = use.sum(axis=0) > start
        self.scale = np.maximum(1.0, np.maximum(start, use.max(axis=0, initial=1.0)))[self.binds]
        start = start[self.binds] / self.scale
        calls = np.array([self._gain(d) for d in self.depots], dtype=float)
        return use[:, self.binds] / self.scale, start, calls.reshape(len(self.depots), len(start))

    def _gain(self, depot: int, aboard: bool = False, supplied: bool = True) -> Floats:
        """The most that may be poured or given after a call, before the next: of what binds."""
        spec, depots = self.spec, self.problem.depots
        kinds = range(len(self.problem.density_g_ml))
        gives = [supplied and row is not None for row in depots[depot].supplies]
        bulk = [spec.capacity_ml[s] if gives[s] else spec.level_ml[s] * aboard for s in kinds]
        tanks = sum(spec.capacity_ml) if spec.tank_ml is None else spec.tank_ml
        pails = spec.pail_slots if depots[depot].pails and any(gives) else 0
        pails = max(pails, sum(spec.pails_aboard) * aboard)
        room_g = spec.gross_g - spec.tare_g + 1.0
        gain = np.array([*bulk, tanks if any(gives) or aboard else 0, pails, room_g], dtype=float)
        return gain[self.binds] / self.scale

    def _ways(self, start_gain: Floats, gains: Floats) -> list[Way]:
        """All ways: without a call, by one depot (alike ones together), by several."""
        found = [Way(*self._direct(), np.zeros(len(start_gain)), start_gain, False)]
        if (laden := self._laden()) is not None:
            found.append(laden)
        by_gain: dict[bytes, list[int]] = {}
        for at in range(len(self.depots)):
            by_gain.setdefault(gains[at].tobytes(), []).append(at)
        calls = []
        for alike in by_gain.values():
            pairs = [self._by(self.depots[at]) for at in alike]
            calls.append((*least(pairs), gains[alike[0]]))
        if len(self.depots) > 1 or (self.depots and self.may_wash):
            several = self._by_several()
            if len(calls) == 1:
                calls = [(*least([calls[0][:2], several]), calls[0][2])]
            else:
                calls.append((*several, gains.max(axis=0)))
        found += [Way(s, m, gain, np.maximum(gain, start_gain), True) for s, m, gain in calls]
        return found

    def _direct(self) -> tuple[Floats, Floats]:
        """Straight on, with at most a wash between; from the start after loading there."""
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
        return self._priced(seconds, metres)

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
        gain = self._gain(spec.start, aboard=True, supplied=False)
        return Way(*self._priced(seconds, self._table(self.metres)), np.zeros(len(gain)), gain, False)

    def _by(self, d: int) -> tuple[Floats, Floats]:
        """By one depot where something is loaded."""
        depot = self.problem.depots[d]
        seconds = self._through(self.drive, [depot.place]) + depot.setup_s
        seconds[self.falling] = seconds[self.falling] + self.problem.wash_s if depot.wash else FAR
        return self._priced(seconds, self._through(self.metres, [depot.place]))

    def _by_several(self) -> tuple[Floats, Floats]:
        """By two depots or more, one after the other."""
        problem = self.problem
        specs = [problem.depots[d] for d in self.depots]
        places = [d.place for d in specs]
        stays = [min(d.setup_s, problem.wash_s) if self.may_wash and d.wash else d.setup_s for d in specs]
        stay = np.array(stays, dtype=float)
        seconds = self._through(self.drive, places, stay, stay)
        washed = self._through(self.drive, places) + problem.wash_s + stay.min()
        seconds = np.where(self.falling, washed if self.may_wash else FAR, seconds)
        return self._priced(seconds, self._through(self.metres, places))

    def _table(self, table: Floats) -> Floats:
        return np.asarray(table[self.froms[:, None], self.places[None, :]])

    def _through(
        self, table: Floats, places: list[int], first: Floats | float = 0.0, last: Floats | float = 0.0
    ) -> Floats:
        """The least from everywhere through one of some places, then on between them, to every visit."""
        by = np.array(places, dtype=int)
        between = closed(table[by[:, None], by[None, :]])
        onward = (table[by[:, None], self.places[None, :]].T + last).T
        onward = np.min(between[:, :, None] + onward[None, :, :], axis=1)
        there = table[self.froms[:, None], by[None, :]] + first
        return np.asarray(np.min(there[:, :, None] + onward[None, :, :], axis=1))

    def _priced(self, seconds: Floats, metres: Floats) -> tuple[Floats, Floats]:
        """Seconds and money, with what the visit itself takes."""
        seconds = np.minimum(FAR, seconds + self.standing_s)
        np.fill_diagonal(seconds[:-1], FAR)
        money = metres * self.per_m + (seconds - self.standing_s) * self.spec.per_s + self.standing_money
        return seconds, np.where(seconds >= FAR, FAR, money)
