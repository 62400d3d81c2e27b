"""State one day of rounds with refills as a problem in whole numbers, without bees.

Units: metres, seconds after midnight, millilitres, grams; money is a float in the operation's
currency. Commodities are syrups, by position. Rounding is against us: demand and time up, capacity down.
A route is a tuple of stops: ``v >= 0`` is a visit, ``-1 - d`` a call at depot ``d``; the depots where it
starts and ends are not written.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from functools import cached_property
from math import ceil

from numpy import int64
from numpy.typing import NDArray

from routing.planning.problem.climb import Climb
from routing.planning.problem.stability import Habit

Stops = tuple[int, ...]
Windows = tuple[tuple[int, int], ...]
FOREVER: Windows = ((-(10**9), 10**9),)


def depot_stop(depot: int) -> int:
    """How a route writes a call at a depot."""
    return -1 - depot


@dataclass(frozen=True)
class Visit:
    """One call at a customer: all of it or none.

    ``bulk_ml`` is pumped and ``pail_ml`` carried in ``pails`` full pails, per commodity (``()`` when
    there are none); ``empties`` come back. ``windows`` bound the whole visit when ``leave_by``, else its
    beginning; ``begin`` windows bound its beginning besides. ``handling_s`` is person-seconds by the hands;
    the pump may take longer. ``value`` is what leaving the visit costs. ``rank`` never falls along a route
    without a wash. A trip that serves the visit leaves its depot no earlier than ``release_s``. ``pours`` say
    how what is pumped is given: commodity, colonies, and the mL that each takes; each from one tank.
    ``()``: it may be poured in any parts.
    """

    place: int
    bulk_ml: tuple[int, ...]
    value: float
    pail_ml: tuple[int, ...] = ()
    pails: tuple[int, ...] = ()
    empties: int = 0
    setup_s: int = 0
    handling_s: int = 0
    windows: Windows = FOREVER
    begin: Windows = FOREVER
    leave_by: bool = False
    trucks: frozenset[int] | None = None
    max_gross_g: int | None = None
    required: bool = False
    rank: int = 0
    release_s: int = 0
    pours: tuple[tuple[int, int, float], ...] = ()
    name: str = ""

    @property
    def pail_count(self) -> int:
        """Full pails of all kinds."""
        return sum(self.pails)

    def opening(self, service_s: int) -> Windows:
        """When a crew that takes so long may begin."""
        return meet(shrink(self.windows, service_s if self.leave_by else 0), self.begin)


@dataclass(frozen=True)
class Supply:
    """One commodity at a depot: ``rate_ml_s`` is the fill rate, ``stock_ml`` None is no limit."""

    rate_ml_s: float
    stock_ml: int | None = None
    from_s: int = -(10**9)


@dataclass(frozen=True)
class DepotSpec:
    """A place to load, start and end; ``supplies`` by commodity, None where it has none."""

    place: int
    supplies: tuple[Supply | None, ...]
    windows: Windows = FOREVER
    leave_by: bool = False
    setup_s: int = 0
    pails: bool = True
    wash: bool = False
    name: str = ""


@dataclass(frozen=True)
class TruckSpec:
    """One truck and crew. ``capacity_ml`` and ``level_ml`` (aboard now) by commodity.

    ``tank_ml`` is all tanks together, where one of them may hold one commodity or another and is counted in
    the capacity of each; the lower bound alone knows such trucks. None: the sum of ``capacity_ml``.

    ``tanks`` are those tanks one by one: commodity, capacity and level; ``()``: one for each commodity.

    ``hands``: how many times as fast as one worker its crew is at the hives.

    A truck in mid-day is ``on_the_clock`` from ``earliest_s`` on, ``tired_s`` into the time that may pass
    before a break, of hygiene ``rank``, with full pails (by commodity) and empties aboard.

    Money: per metre without fuel, per second of work, extra per second of overtime, per litre of
    fuel. Fuel in litres per metre, linear in payload: ``fuel_empty`` and ``fuel_per_g`` more per gram.
    """

    start: int
    end: int
    capacity_ml: tuple[int, ...]
    level_ml: tuple[int, ...]
    pail_slots: int = 0
    tare_g: int = 0
    gross_g: int = 10**12
    earliest_s: int = -(10**9)
    latest_s: int = 10**9
    ordinary_s: int = 10**9
    overtime_s: int = 0
    driving_s: int = 10**9
    break_s: int = 0
    break_after_s: int = 10**9
    break_on_driving: bool = False
    per_m: float = 1.0
    per_s: float = 0.0
    overtime_per_s: float = 0.0
    fixed: float = 0.0
    fuel_price: float = 0.0
    fuel_empty: float = 0.0
    fuel_per_g: float = 0.0
    climb: Climb | None = None
    idle_l_per_s: float = 0.0
    pump_ml_s: float | None = None
    hands: float = 1.0
    matrix: int = 0
    refill_depots: tuple[int, ...] = ()
    max_refills: int = 12
    pails_aboard: tuple[int, ...] = ()
    pail_ml_aboard: tuple[int, ...] = ()
    empties_aboard: int = 0
    rank: int = 0
    on_the_clock: bool = False
    tired_s: int = 0
    tank_ml: int | None = None
    tanks: tuple[tuple[int, int, int], ...] = ()
    name: str = ""

    @property
    def max_s(self) -> int:
        """Longest lawful time from start to end."""
        return self.ordinary_s + self.overtime_s


@dataclass(frozen=True, eq=False)
class Problem:
    """A day of rounds. ``distance_m`` and ``drive_s`` hold one table per truck profile.

    ``dear_as`` is what leaving out a required visit costs where another statement of the day sets it.
    """

    visits: tuple[Visit, ...]
    depots: tuple[DepotSpec, ...]
    trucks: tuple[TruckSpec, ...]
    distance_m: tuple[NDArray[int64], ...]
    drive_s: tuple[NDArray[int64], ...]
    density_g_ml: tuple[float, ...]
    pail_g: int = 0
    pail_load_s: float = 0.0
    wash_s: int = 0
    margin: float = 0.0
    balance_per_s: float = 0.0
    money_step: float = 1e-4
    habit: Habit | None = None
    dear_as: float | None = None
    names: tuple[str, ...] = field(default=())

    @cached_property
    def distance_rows(self) -> tuple[list[list[int]], ...]:
        """The distance tables as plain lists: faster to read one cell at a time."""
        return tuple(table.tolist() for table in self.distance_m)

    @cached_property
    def drive_rows(self) -> tuple[list[list[int]], ...]:
        """The time tables as plain lists."""
        return tuple(table.tolist() for table in self.drive_s)

    @cached_property
    def demand_ml(self) -> tuple[int, ...]:
        """All that the visits ask for, per commodity."""
        return tuple(sum(visit_ml(v, s) for v in self.visits) for s in range(len(self.density_g_ml)))

    @cached_property
    def identical_trucks(self) -> tuple[int, ...]:
        """For each truck the first that is identical but for its name, and may go to the same places."""
        first: dict[tuple[object, ...], int] = {}
        found = []
        for k, truck in enumerate(self.trucks):
            barred = tuple(i for i, v in enumerate(self.visits) if v.trucks is not None and k not in v.trucks)
            found.append(first.setdefault((replace(truck, name=""), barred), k))
        return tuple(found)

    @cached_property
    def syrup_g(self) -> tuple[float, ...]:
        """Mass of the syrup that each visit takes."""
        return tuple(sum(visit_ml(v, s) * d for s, d in enumerate(self.density_g_ml)) for v in self.visits)

    @cached_property
    def mass_g(self) -> tuple[float, ...]:
        """Mass that each visit takes: syrup and the full pails it comes in."""
        return tuple(g + v.pail_count * self.pail_g for v, g in zip(self.visits, self.syrup_g, strict=True))

    @cached_property
    def relief_g(self) -> tuple[float, ...]:
        """Mass that leaves the truck at each visit: syrup and full pails less the empties that come back."""
        pails = [v.pail_count - v.empties for v in self.visits]
        return tuple(g + count * self.pail_g for g, count in zip(self.syrup_g, pails, strict=True))

    @cached_property
    def service_s(self) -> tuple[tuple[int, ...], ...]:
        """Whole seconds that each truck's crew stands at each visit: ``service_s[truck][visit]``."""
        return tuple(tuple(standing_s(v, t) for v in self.visits) for t in self.trucks)

    @cached_property
    def openings(self) -> tuple[tuple[Windows, ...], ...]:
        """When each truck's crew may begin each visit: ``openings[truck][visit]``."""
        alike = {row: tuple(map(Visit.opening, self.visits, row)) for row in set(self.service_s)}
        return tuple(alike[row] for row in self.service_s)

    def mean_per_m(self, truck: TruckSpec) -> float:
        """Money a metre with fuel, at half of the load that tanks and law allow."""
        tanks_g = sum(c * d for c, d in zip(truck.capacity_ml, self.density_g_ml, strict=True))
        load_g = min(tanks_g, truck.gross_g - truck.tare_g) / 2
        return truck.per_m + truck.fuel_price * (truck.fuel_empty + truck.fuel_per_g * load_g)

    @cached_property
    def mean_per_m_of(self) -> tuple[float, ...]:
        """``mean_per_m`` of every truck."""
        return tuple(map(self.mean_per_m, self.trucks))

    @cached_property
    def eligible_trucks(self) -> tuple[tuple[int, ...], ...]:
        """``eligible`` of every visit."""
        return tuple(map(self.eligible, range(len(self.visits))))

    @cached_property
    def dear(self) -> float:
        """More than any sensible plan costs: the price of leaving out a visit that is required."""
        if self.dear_as is not None:
            return self.dear_as
        metres = 2 * max(float(table.max()) for table in self.distance_m) * (len(self.visits) + 1)
        hours = sum(min(t.max_s, 2 * 86_400) * (t.per_s + t.overtime_per_s) + t.fixed for t in self.trucks)
        return metres * max(map(self.mean_per_m, self.trucks)) + hours + sum(v.value for v in self.visits)

    def eligible(self, visit: int) -> tuple[int, ...]:
        """Trucks allowed at a visit and able to hold it in an empty truck at full legal load."""
        v = self.visits[visit]
        allowed = range(len(self.trucks)) if v.trucks is None else sorted(v.trucks)
        return tuple(k for k in allowed if self.fits(visit, k))

    def fits(self, visit: int, truck: int) -> bool:
        """Whether a truck that carries nothing else can bring the visit what it needs."""
        v, t = self.visits[visit], self.trucks[truck]
        limit = t.gross_g if v.max_gross_g is None else min(t.gross_g, v.max_gross_g)
        return (
            all(need <= cap for need, cap in zip(v.bulk_ml, t.capacity_ml, strict=True))
            and v.pail_count <= t.pail_slots
            and t.tare_g + self.load_g([visit]) <= limit
        )

    def load_g(self, visits: Iterable[int]) -> int:
        """Mass that must be aboard for some visits, rounded up."""
        return -int(-sum(self.mass_g[i] for i in visits) // 1)


def visit_ml(visit: Visit, commodity: int) -> int:
    """All of one commodity that a visit takes, pumped and in pails."""
    return visit.bulk_ml[commodity] + (visit.pail_ml[commodity] if visit.pail_ml else 0)


def standing_s(visit: Visit, truck: TruckSpec) -> int:
    """Whole seconds at a visit: set-up, then the hands or the pump, whichever takes longer."""
    pumping = sum(visit.bulk_ml) / truck.pump_ml_s if truck.pump_ml_s else 0.0
    return visit.setup_s + ceil(max(visit.handling_s / truck.hands, pumping) - 1e-9)


def meet(first: Windows, second: Windows) -> Windows:
    """The times that lie in both of two sorted lists of windows."""
    return tuple((max(a, c), min(b, d)) for a, b in first for c, d in second if max(a, c) <= min(b, d))


def shrink(windows: Windows, service_s: int) -> Windows:
    """When something that takes so long may begin, to end in the same window."""
    return tuple((a, b - service_s) for a, b in windows if b - service_s >= a)


@dataclass(frozen=True)
class Solution:
    """Routes by truck (empty for an idle truck), and the visits left out."""

    routes: tuple[Stops, ...]
    unserved: tuple[int, ...]
    objective: float
