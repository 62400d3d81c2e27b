"""State a day of rounds with refills in the terms of OR-Tools' routing library.

Refills are optional copies of depot nodes, free for any truck. Loads count what was poured since the last
filling, one dimension a syrup, one for pails and one for mass; a refill takes its capacity off again, with
slack. Left out, and settled by the exact timing afterwards: filling time by amount (charged where it is
poured, as for the other engine), stock, empties, breaks (taken off the shift), fuel by load, release times.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from math import ceil
from typing import Any

from ortools.constraint_solver import pywrapcp

from routing.planning.problem.problem import Problem, Stops, TruckSpec, depot_stop, visit_ml

HORIZON_S = 2 * 86_400
COPIES_A_TRUCK = 2
MOST_COPIES = 40
# In steps of money: what the library still adds up without running over.
MOST_MONEY = 2**50


class RoutingModel:
    """A problem as an OR-Tools routing model, and the way back."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.visits = len(problem.visits)
        self.copies = self._copies()
        nodes = self.visits + len(self.copies)
        trucks = problem.trucks
        self.start_of = {nodes + k: k for k in range(len(trucks))}
        self.end_of = {nodes + len(trucks) + k: k for k in range(len(trucks))}
        self.manager = pywrapcp.RoutingIndexManager(
            nodes + 2 * len(trucks), len(trucks), list(self.start_of), list(self.end_of)
        )
        self.routing = pywrapcp.RoutingModel(self.manager)
        self.place = [v.place for v in problem.visits] + [problem.depots[d].place for d in self.copies]
        self.place += [problem.depots[t.start].place for t in trucks]
        self.place += [problem.depots[t.end].place for t in trucks]
        self.zero_s = min(max(t.earliest_s, 0) for t in trucks)
        self._costs()
        self._time()
        self._driving()
        self._loads()
        self._ranks()
        self._choices()

    def _copies(self) -> list[int]:
        """Depots to refill at, each as often as it may be wanted."""
        problem = self.problem
        wanted = sorted({d for t in problem.trucks for d in t.refill_depots})
        each = min(MOST_COPIES, COPIES_A_TRUCK * len(problem.trucks))
        return [d for d in wanted for _ in range(each)]

    def _node(self, index: int) -> int:
        return int(self.manager.IndexToNode(index))

    def _index(self, node: int) -> int:
        return int(self.manager.NodeToIndex(node))

    def _drives(self, rows: list[list[int]], factor: float, stay: list[int] | None = None) -> int:
        """Register what it takes to stay at a node and go to another."""
        stays = stay or [0] * len(self.place)
        table = [
            [stays[n] + round(rows[a][b] * factor) for b in self.place] for n, a in enumerate(self.place)
        ]
        return int(self.routing.RegisterTransitMatrix(table))

    def _costs(self) -> None:
        problem, step = self.problem, self.problem.money_step
        known: dict[tuple[int, float], int] = {}
        for k, truck in enumerate(problem.trucks):
            key = (truck.matrix, problem.mean_per_m(truck))
            if key not in known:
                known[key] = self._drives(problem.distance_rows[truck.matrix], key[1] / step)
            self.routing.SetArcCostEvaluatorOfVehicle(known[key], k)
            self.routing.SetFixedCostOfVehicle(max(0, round(truck.fixed / step)), k)

    def _stay_s(self, node: int, truck: int) -> int:
        """Time at a node, with the filling of what is poured there."""
        problem = self.problem
        if node in self.end_of:
            return 0
        if node >= self.visits:
            return problem.depots[self._depot(node)].setup_s
        visit = problem.visits[node]
        seconds = visit.pail_count * problem.pail_load_s
        for s in range(len(problem.density_g_ml)):
            rates = [supply.rate_ml_s for d in problem.depots if (supply := d.supplies[s]) is not None]
            if rates and visit_ml(visit, s):
                seconds += visit_ml(visit, s) * len(rates) / sum(rates)
        return problem.service_s[truck][node] + ceil(seconds)

    def _depot(self, node: int) -> int:
        """The depot that a node which is no visit stands at; not for ends."""
        if node in self.start_of:
            return self.problem.trucks[self.start_of[node]].start
        return self.copies[node - self.visits]

    def _rest_s(self, truck: TruckSpec) -> int:
        """Breaks that a full shift will hold."""
        longest = max(0, min(truck.latest_s - truck.earliest_s, truck.max_s))
        return truck.break_s * (max(0, longest - 1) // max(1, truck.break_after_s)) if truck.break_s else 0

    def _time(self) -> None:
        problem, routing = self.problem, self.routing
        step = problem.money_step
        known: dict[tuple[int, float | None], int] = {}
        transits = []
        for k, truck in enumerate(problem.trucks):
            key = (truck.matrix, truck.pump_ml_s)
            if key not in known:
                stay = [self._stay_s(n, k) for n in range(len(self.place))]
                known[key] = self._drives(problem.drive_rows[truck.matrix], 1.0, stay)
            transits.append(known[key])
        routing.AddDimensionWithVehicleTransits(transits, HORIZON_S, HORIZON_S, False, "time")
        time = self.dimension("time")
        for k, truck in enumerate(problem.trucks):
            rest = self._rest_s(truck)
            start, end = time.CumulVar(routing.Start(k)), time.CumulVar(routing.End(k))
            start.SetMin(min(HORIZON_S, max(0, truck.earliest_s - self.zero_s)))
            end.SetMax(max(0, min(HORIZON_S, truck.latest_s - self.zero_s - rest)))
            if truck.max_s < HORIZON_S:
                time.SetSpanUpperBoundForVehicle(max(0, truck.max_s - rest), k)
            time.SetSpanCostCoefficientForVehicle(max(0, round(truck.per_s / step)), k)
            if truck.overtime_s and truck.overtime_per_s:
                ordinary = max(0, truck.ordinary_s - rest)
                bound = pywrapcp.BoundCost(ordinary, max(0, round(truck.overtime_per_s / step)))
                time.SetSoftSpanUpperBoundForVehicle(bound, k)
            routing.AddVariableMinimizedByFinalizer(end)
            routing.AddVariableMaximizedByFinalizer(start)
        for node in range(self.visits):
            self._open(time, node, problem.openings[0][node])
        for node, d in enumerate(self.copies, start=self.visits):
            self._open(time, node, problem.depots[d].windows)

    def _open(self, time: Any, node: int, windows: tuple[tuple[int, int], ...]) -> None:
        """Hold the begin of a visit inside its windows, several a day if so."""
        var = time.CumulVar(self._index(node))
        spans = [(max(0, a - self.zero_s), min(HORIZON_S, b - self.zero_s)) for a, b in windows]
        spans = [(a, b) for a, b in spans if a <= b]
        if not spans:
            self.routing.VehicleVar(self._index(node)).SetValue(-1)
            return
        var.SetRange(spans[0][0], spans[-1][1])
        for (_, shut), (opens, _) in pairwise(spans):
            var.RemoveInterval(shut + 1, opens - 1)

    def _driving(self) -> None:
        problem = self.problem
        if all(t.driving_s >= min(t.max_s, t.latest_s - t.earliest_s) for t in problem.trucks):
            return
        rows = problem.drive_rows[problem.trucks[0].matrix]
        callback = self._drives(rows, 1.0)
        most = [max(0, min(HORIZON_S, t.driving_s)) for t in problem.trucks]
        self.routing.AddDimensionWithVehicleCapacity(callback, 0, most, True, "driving")

    def dimension(self, name: str) -> Any:
        """A dimension of the model by its name."""
        return self.routing.GetDimensionOrDie(name)

    def _loads(self) -> None:
        problem = self.problem
        for s in range(len(problem.density_g_ml)):
            asked = [v.bulk_ml[s] for v in problem.visits]
            supplied = [depot.supplies[s] is not None for depot in problem.depots]
            room = [0 if supplied[t.start] else t.capacity_ml[s] - t.level_ml[s] for t in problem.trucks]
            self._load(f"syrup{s}", asked, [t.capacity_ml[s] for t in problem.trucks], supplied, room)
        slots = [t.pail_slots for t in problem.trucks]
        bases = [depot.pails for depot in problem.depots]
        self._load("pails", [v.pail_count for v in problem.visits], slots, bases, [0] * len(slots))
        payload = [max(0, t.gross_g - t.tare_g) for t in problem.trucks]
        if min(payload) < 10**11:
            mass = [problem.load_g([i]) for i in range(self.visits)]
            everywhere = [True] * len(problem.depots)
            self._load("mass", mass, payload, everywhere, [0] * len(payload))

    def _load(
        self, name: str, asked: list[int], capacity: list[int], filled_at: list[bool], used: list[int]
    ) -> None:
        """One load: what was poured since the last filling; ``used`` is the room not filled at the start."""
        if not any(asked):
            return
        most = max(capacity)
        amount = [*asked, *(-most if filled_at[d] else 0 for d in self.copies)]
        amount += [0] * (2 * len(capacity))
        callback = self.routing.RegisterUnaryTransitVector(amount)
        self.routing.AddDimensionWithVehicleCapacity(callback, most, capacity, False, name)
        dimension = self.dimension(name)
        for k, start in enumerate(used):
            dimension.CumulVar(self.routing.Start(k)).SetValue(min(max(0, start), capacity[k]))
        for i in range(self.routing.Size()):
            n = self._node(i)
            refill = self.visits <= n < self.visits + len(self.copies)
            if not (refill and filled_at[self.copies[n - self.visits]]):
                dimension.SlackVar(i).SetValue(0)

    def _ranks(self) -> None:
        """The hygiene rank never falls along a route, unless a depot with a wash lies between."""
        problem = self.problem
        worst = max((v.rank for v in problem.visits), default=0)
        if worst == 0:
            return
        washes = [problem.depots[d].wash for d in self.copies]
        amount = [0] * self.visits + [-worst if w else 0 for w in washes] + [0] * (2 * len(problem.trucks))
        callback = self.routing.RegisterUnaryTransitVector(amount)
        self.routing.AddDimension(callback, 2 * worst, worst, True, "rank")
        rank = self.dimension("rank")
        for i, visit in enumerate(problem.visits):
            rank.CumulVar(self._index(i)).SetValue(visit.rank)

    def _choices(self) -> None:
        """Visits are optional at their value, refills for nothing; trucks only where they may go."""
        problem, routing = self.problem, self.routing
        for i, visit in enumerate(problem.visits):
            value = visit.value + (problem.dear if visit.required else 0.0)
            penalty = min(MOST_MONEY, max(0, round(value / problem.money_step)))
            routing.AddDisjunction([self._index(i)], penalty)
            able = problem.eligible_trucks[i]
            routing.VehicleVar(self._index(i)).SetValues([-1, *able])
        for node, d in enumerate(self.copies, start=self.visits):
            routing.AddDisjunction([self._index(node)], 0)
            able = tuple(k for k, t in enumerate(problem.trucks) if d in t.refill_depots)
            routing.VehicleVar(self._index(node)).SetValues([-1, *able])

    def routes(self, next_of: Callable[[int], int]) -> tuple[Stops, ...]:
        """Read routes back, given the index that follows each."""
        found = []
        for k in range(self.routing.vehicles()):
            stops, index = [], next_of(self.routing.Start(k))
            while not self.routing.IsEnd(index):
                node = self._node(index)
                stops.append(node if node < self.visits else depot_stop(self.copies[node - self.visits]))
                index = next_of(index)
            found.append(tuple(stops))
        return tuple(found)

    def indices(self, routes: tuple[Stops, ...]) -> list[list[int]] | None:
        """Routes as the model's indices; None where more refills are wanted than it has copies of."""
        free: dict[int, list[int]] = {}
        for node, d in enumerate(self.copies, start=self.visits):
            free.setdefault(d, []).append(node)
        found = []
        for stops in routes:
            row = []
            for stop in stops:
                if stop < 0 and not free.get(-1 - stop):
                    return None
                row.append(self._index(stop if stop >= 0 else free[-1 - stop].pop(0)))
            found.append(row)
        return found
