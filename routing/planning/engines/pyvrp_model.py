"""State a problem in PyVRP's terms, and read its routes back.

What PyVRP cannot state is approximated and left to the exact search that follows: filling time is charged
where the syrup is poured, fuel at the mean load, breaks as time taken off the longest shift, stock not at
all. Money is counted in whole steps of ``Problem.money_step``.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil
from typing import Any

import numpy as np
import pyvrp
from numpy.typing import NDArray

from routing.planning.problem.problem import (
    Problem,
    Stops,
    TruckSpec,
    Visit,
    Windows,
    depot_stop,
    meet,
    shrink,
    visit_ml,
)

Routes = tuple[Stops, ...]
_Profile = tuple[int, int, frozenset[int]]
HORIZON_S = 10**9
# Farther than any plan, and as far as the engine's own reader puts what a vehicle may not visit.
BARRED = 2**44


@dataclass(frozen=True)
class _Depot:
    """A copy of a depot: ``rank`` is the hygiene rank a truck keeps through it (None: start and end)."""

    depot: int
    rank: int | None


class Model:
    """One problem in PyVRP's terms, and the way back."""

    def __init__(self, problem: Problem, *, required: bool = False) -> None:
        self.problem = problem
        self.required = required
        self.zero_s = _zero(problem)
        self.ranks = sorted({v.rank for v in problem.visits})
        self.depots = self._depot_copies()
        self.clients: list[int] = []
        self.groups: list[Any] = []
        self._dimensions()
        clients = [client for i in range(len(problem.visits)) for client in self._clients(i)]
        # Prices in whole steps a metre need no table for each price: trucks that differ in nothing else share
        # one, and the engine tells near from far alike for all.
        self.whole = all(
            abs(price - round(price)) < 1e-9 for price in map(self._per_m, range(len(problem.trucks)))
        )
        self.profiles: dict[_Profile, int] = {}
        self.members = [
            [k for k, twin in enumerate(problem.identical_trucks) if twin == first]
            for first in dict.fromkeys(problem.identical_trucks)
        ]
        vehicles = [self._vehicle(members[0], len(members)) for members in self.members]
        tables = [self._tables(k) for k in self._profile_trucks()]
        self.data = pyvrp.ProblemData(
            clients,
            [self._depot(d) for d in self.depots],
            vehicles,
            [distance for distance, _ in tables],
            [drive for _, drive in tables],
            self.groups,
        )

    def _depot_copies(self) -> list[_Depot]:
        count = range(len(self.problem.depots))
        plain = [_Depot(d, None) for d in count]
        return plain + ([_Depot(d, r) for d in count for r in self.ranks] if len(self.ranks) > 1 else [])

    def _clip(self, windows: Windows) -> list[tuple[int, int]]:
        spans = [(max(a - self.zero_s, 0), min(b - self.zero_s, HORIZON_S)) for a, b in windows]
        return [(a, b) for a, b in spans if a <= b]

    def _depot(self, copy: _Depot) -> Any:
        spec = self.problem.depots[copy.depot]
        spans = self._clip(spec.windows) or [(0, 0)]
        return pyvrp.Depot(0, 0, spans[0][0], spans[-1][1], service_duration=spec.setup_s)

    def _dimensions(self) -> None:
        """Load dimensions: each syrup asked for, pails, mass where it can bind."""
        problem = self.problem
        self.syrups = [
            s for s in range(len(problem.density_g_ml)) if any(v.bulk_ml[s] for v in problem.visits)
        ]
        self.pails = any(v.pails for v in problem.visits)
        self.mass = any(t.gross_g < 10**12 for t in problem.trucks)

    def _load(self, i: int) -> list[int]:
        visit = self.problem.visits[i]
        load = [visit.bulk_ml[s] for s in self.syrups]
        load += [visit.pail_count] if self.pails else []
        return load + ([self.problem.load_g([i])] if self.mass else [])

    def _capacity(self, k: int) -> list[int]:
        spec = self.problem.trucks[k]
        capacity = [spec.capacity_ml[s] for s in self.syrups]
        capacity += [spec.pail_slots] if self.pails else []
        return capacity + ([max(0, spec.gross_g - spec.tare_g)] if self.mass else [])

    def _initial(self, k: int) -> list[int]:
        """What the first trip cannot use: room that the start depot has no syrup to fill.

        Where it has none at all an empty truck drives to another first, which the engine cannot say: its
        routes are then mended by such a call.
        """
        spec, load = self.problem.trucks[k], []
        start = self.problem.depots[spec.start]
        if not any(start.supplies[s] or spec.level_ml[s] for s in self.syrups):
            return []
        for s in self.syrups:
            room = spec.capacity_ml[s] - spec.level_ml[s]
            load.append(0 if start.supplies[s] is not None else max(0, room))
        rest = len(self._capacity(k)) - len(load)
        return load + [0] * rest

    def _clients(self, i: int) -> list[Any]:
        """One client a window; several are a group of which one is served."""
        visit = self.problem.visits[i]
        # The engine knows one time a client: the longest of any crew.
        stands = max(seconds[i] for seconds in self.problem.service_s)
        service = stands + ceil(self._filling_s(visit))
        spans = self._clip(meet(shrink(visit.windows, service if visit.leave_by else 0), visit.begin)) or [
            (HORIZON_S, HORIZON_S)
        ]
        group = len(self.groups) if len(spans) > 1 else None
        prize = round(self._prize(visit) / self.problem.money_step)
        release = max(0, visit.release_s - self.zero_s)
        members = []
        for _ in spans:
            members.append(len(self.depots) + len(self.clients))
            self.clients.append(i)
        if group is not None:
            self.groups.append(pyvrp.ClientGroup(members, required=self.required))
        return [
            pyvrp.Client(
                0, 0, self._load(i), [], service, a, b, min(release, b),
                0 if self.required else prize,
                self.required and group is None,
                group,
            )
            for a, b in spans
        ]  # fmt: skip

    def _prize(self, visit: Visit) -> float:
        return visit.value + (self.problem.dear if visit.required else 0.0)

    def _filling_s(self, visit: Visit) -> float:
        """Time to load the visit's syrup somewhere, at the mean rate of the depots that have it."""
        seconds = visit.pail_count * self.problem.pail_load_s
        for s in range(len(visit.bulk_ml)):
            rates = [d.supplies[s].rate_ml_s for d in self.problem.depots if d.supplies[s]]  # type: ignore[union-attr]
            if rates and visit_ml(visit, s):
                seconds += visit_ml(visit, s) * len(rates) / sum(rates)
        return seconds

    def _vehicle(self, k: int, count: int) -> Any:
        spec, step = self.problem.trucks[k], self.problem.money_step
        profile = self.profiles.setdefault(self._profile(k), len(self.profiles))
        longest = min(spec.latest_s - spec.earliest_s, spec.max_s)
        rest = spec.break_s * (max(0, longest - 1) // spec.break_after_s) if spec.break_s else 0
        span = self._span(spec, rest)
        limits: dict[str, Any] = {}
        if spec.max_s < 10**8:
            limits = {
                "shift_duration": max(0, spec.ordinary_s - rest),
                "max_overtime": spec.overtime_s,
                "unit_overtime_cost": round(spec.overtime_per_s / step),
            }
        return pyvrp.VehicleType(
            count,
            self._capacity(k) if span else [0] * len(self._capacity(k)),
            spec.start,
            spec.end,
            round(spec.fixed / step),
            *(span or (0, HORIZON_S)),
            unit_distance_cost=round(self._per_m(k)) if self.whole else 1,
            unit_duration_cost=round(spec.per_s / step),
            profile=profile,
            initial_load=self._initial(k) if span else [],
            reload_depots=self._reloads(k),
            max_reloads=spec.max_refills,
            **limits,
        )

    def _span(self, spec: TruckSpec, rest_s: int) -> tuple[int, int] | None:
        """Earliest start and latest end of a truck; None where one of its depots is closed all through."""
        early = max(0, spec.earliest_s - self.zero_s)
        late = min(max(early, spec.latest_s - self.zero_s - rest_s), HORIZON_S)
        gates = (self._clip(self.problem.depots[d].windows) for d in (spec.start, spec.end))
        opens = all(gate and early <= gate[-1][1] and gate[0][0] <= late for gate in gates)
        return (early, late) if opens else None

    def _reloads(self, k: int) -> list[int]:
        wanted = set(self.problem.trucks[k].refill_depots)
        ranked = len(self.ranks) > 1
        return [j for j, d in enumerate(self.depots) if d.depot in wanted and ranked == (d.rank is not None)]

    def _profile(self, k: int) -> _Profile:
        """What a truck's table of drives depends on: the table, money a metre, and where it may not go.

        Access is a matter of distance: as one more load it left fewer and poorer moves. A visit that
        no truck may make is closed to none: it costs its value wherever it is left.
        """
        problem, spec = self.problem, self.problem.trucks[k]
        able = problem.eligible_trucks
        barred = frozenset(i for i in range(len(problem.visits)) if able[i] and k not in able[i])
        return spec.matrix, 0 if self.whole else round(self._per_m(k) * 1000), barred

    def _per_m(self, k: int) -> float:
        """Steps of money a metre."""
        return self.problem.mean_per_m_of[k] / self.problem.money_step

    def _profile_trucks(self) -> list[int]:
        """One truck for each travel profile, in the order of the profiles."""
        first: dict[int, int] = {}
        for k in range(len(self.problem.trucks)):
            first.setdefault(self.profiles[self._profile(k)], k)
        return [first[p] for p in range(len(first))]

    def _tables(self, k: int) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        problem, spec = self.problem, self.problem.trucks[k]
        places = [problem.depots[d.depot].place for d in self.depots]
        places += [problem.visits[i].place for i in self.clients]
        at = np.ix_(places, places)
        money = problem.distance_m[spec.matrix][at] * (1 if self.whole else self._per_m(k))
        drive = problem.drive_s[spec.matrix][at].copy()
        if len(self.ranks) > 1:
            self._hygiene(drive)
        np.fill_diagonal(drive, 0)
        cost = np.rint(money).astype(np.int64)
        barred = self._profile(k)[2]
        closed = [at for at, i in enumerate(self.clients, len(self.depots)) if i in barred]
        cost[closed, :] = cost[:, closed] = BARRED
        np.fill_diagonal(cost, 0)
        return cost, drive

    def _hygiene(self, drive: NDArray[np.int64]) -> None:
        """Close the arcs that would take a truck from a worse yard to a better one without a wash."""
        leaves = [d.rank for d in self.depots] + [self.problem.visits[i].rank for i in self.clients]
        for a, kept in enumerate(leaves):
            for b, rank in enumerate(leaves):
                if kept is None or rank is None or a == b:
                    continue
                into_depot = b < len(self.depots)
                if (kept != rank) if into_depot else (rank < kept):
                    wash = into_depot and rank == 0 and self.problem.depots[self.depots[b].depot].wash
                    drive[a, b] = drive[a, b] + self.problem.wash_s if wash else HORIZON_S // 100

    def routes(self, solution: Any) -> Routes:
        """Read a solution back as routes by truck."""
        found: list[Stops] = [()] * len(self.problem.trucks)
        free = [list(members) for members in self.members]
        for route in solution.routes():
            stops: list[int] = []
            for number, trip in enumerate(route.trips()):
                if number:
                    stops.append(depot_stop(self.depots[trip.start_depot()].depot))
                stops += [self.clients[client - len(self.depots)] for client in trip.visits()]
            found[free[route.vehicle_type()].pop(0)] = tuple(stops)
        return tuple(found)


def _zero(problem: Problem) -> int:
    earliest = min(t.earliest_s for t in problem.trucks)
    return earliest if earliest > -(10**8) else 0
