"""A day's plan, shaped as plan.json (schema feedround-plan/1): SI units, aware times."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Literal

from routing.domain.operation import Assumption
from routing.domain.ration import NOTHING_DUE

SCHEMA = "feedround-plan/1"

StopKind = Literal["start", "yard", "refill", "wash", "break", "end"]


@dataclass(frozen=True)
class PlanLeg:
    """The drive that ends at a stop. ``geometry`` is a line of (lon, lat).

    ``climb_m``: metres of climbing that descents do not give back, where an elevation grid is given.
    """

    distance_m: int
    drive_s: int
    fuel_l: float
    geometry: tuple[tuple[float, float], ...] = ()
    climb_m: int = 0


@dataclass(frozen=True)
class Pour:
    """Syrup given at a yard. ``tank_id`` for what is pumped, ``pails`` for what is swapped."""

    group: str
    feeder_id: str
    syrup_id: str
    colonies: int
    volume_l: float
    tank_id: str | None = None
    pails: int = 0


@dataclass(frozen=True)
class Fill:
    """Syrup taken aboard: into a tank, or as full pails (``tank_id`` None)."""

    syrup_id: str
    volume_l: float
    tank_id: str | None = None
    pails: int = 0


@dataclass(frozen=True)
class TankState:
    """What one tank holds on leaving a stop."""

    syrup_id: str | None
    volume_l: float


@dataclass(frozen=True)
class Aboard:
    """What the truck carries on leaving a stop, and what it weighs with it."""

    tanks: dict[str, TankState]
    pails_full: int
    pails_empty: int
    gross_kg: float


@dataclass(frozen=True)
class Stop:
    """One halt. ``begin`` is when service starts after any wait; ``place_id`` is a yard or depot id.

    A break stands at the place of the stop before it, with a leg of length zero. ``starving``: the yard
    was judged to be starving when the day was planned. ``latest_arrive``: who comes here no later than that,
    and goes on as planned, still keeps every gate, the break clock and the shift; None where it is not known.
    ``number``: what the crew knows a yard stop by where a re-plan goes on counting; 0 counts from the first.
    """

    seq: int
    kind: StopKind
    place_id: str
    lat: float
    lon: float
    arrive: datetime
    begin: datetime
    leave: datetime
    leg: PlanLeg
    pour: tuple[Pour, ...] = ()
    fill: tuple[Fill, ...] = ()
    after: Aboard = field(default_factory=lambda: Aboard({}, 0, 0, 0.0))
    notes: tuple[str, ...] = ()
    starving: bool = False
    latest_arrive: datetime | None = None
    number: int = 0


@dataclass(frozen=True)
class Cost:
    """Money in the operation's currency. ``vehicle`` has wear and the truck's fixed cost."""

    labor: float
    fuel: float
    vehicle: float
    syrup: float
    total: float


@dataclass(frozen=True)
class Objective:
    """What the engines minimised: ``total`` is the sum of ``parts``.

    Parts: labor, fuel, vehicle, syrup (of what is poured), and unserved (value of what is left, with
    the syrup it will need another day, so that leaving a yard never looks like saving its syrup),
    balance.
    """

    total: float
    parts: dict[str, float]


@dataclass(frozen=True)
class Bound:
    """A proven lower bound on the objective of every plan; gap = (total - objective) / total."""

    objective: float
    gap: float
    proved: bool
    method: str


@dataclass(frozen=True)
class RouteTotals:
    """Sums over one route. ``work_s`` is from start to end, breaks and waits in."""

    distance_m: int
    drive_s: int
    work_s: int
    wait_s: int
    break_s: int
    overtime_s: int
    fuel_l: float
    co2_kg: float
    cost: Cost
    served_yards: int
    served_colonies: int
    volume_l: float


@dataclass(frozen=True)
class Totals(RouteTotals):
    """Sums over the whole plan. A yard counts as served when all of its need is."""

    objective: Objective
    bound: Bound | None


@dataclass(frozen=True)
class Route:
    """One truck's day."""

    truck_id: str
    start: datetime
    end: datetime
    totals: RouteTotals
    stops: tuple[Stop, ...]


@dataclass(frozen=True)
class Unserved:
    """A yard (or a part of one) left unfed, why, and what would have to change."""

    yard_id: str
    reason_code: str
    reason: str
    remedy: str
    days_of_stores: float
    colonies: int
    volume_l: float
    starving: bool = False
    syrup_cost: float = 0.0

    @property
    def unfed(self) -> bool:
        """Whether the yard goes without syrup, wholly or in part; otherwise it needs nothing today."""
        return self.starving or self.volume_l > 0 or self.reason_code not in NOTHING_DUE


@dataclass(frozen=True)
class Warning_:
    """A caution that goes with the plan; ``truck_id`` when it concerns one truck's crew alone.

    ``to_crew``: the same said to that crew, where the office is told otherwise.
    """

    code: str
    text: str
    place_id: str | None = None
    truck_id: str | None = None
    to_crew: str = ""


@dataclass(frozen=True)
class Engine:
    """What made the plan. ``seconds`` is the time allowed (None when bounded by iterations)."""

    name: str
    version: str
    seconds: float | None
    iterations: int | None


@dataclass(frozen=True)
class AuditRecord:
    """The verdict of the independent audit, and what it checked."""

    passed: bool
    checks: tuple[str, ...]


@dataclass(frozen=True)
class Change:
    """One thing that a re-plan changed; ``truck_id`` is whose crew must be told (None: the office)."""

    code: str
    text: str
    truck_id: str | None = None
    place_id: str | None = None


@dataclass(frozen=True)
class TruckDifference:
    """What the rest of a truck's day takes more (below zero: less) than was left of the plan before.

    ``volume_l`` is syrup poured. ``cost`` has wages, fuel and wear, not the syrup.
    """

    work_s: int
    distance_m: int
    fuel_l: float
    volume_l: float
    cost: float


@dataclass(frozen=True)
class Difference(TruckDifference):
    """The same for the whole day, and for each truck that has a part in either plan."""

    trucks: dict[str, TruckDifference] = field(default_factory=dict)


@dataclass(frozen=True)
class Plan:
    """A day's plan. ``plan_id`` is a digest of its content.

    ``trucks``: those that it could send out (empty: all that are available on its date).
    ``must``: yards that the keeper asked for on this day, besides those of priority ``must``.
    A re-plan holds the rest of a day from its routes' starts on; it ``replaces`` the plan of that id, and
    ``changes`` say what is different, ``difference`` what that costs. ``noted`` is the number of the last
    event of the day log that the morning of the plan was worked out from (0: nothing was noted).
    """

    plan_id: str
    operation: str
    date: date
    timezone: str
    seed: int
    engine: Engine
    assumptions: dict[str, Assumption]
    totals: Totals
    routes: tuple[Route, ...]
    unserved: tuple[Unserved, ...]
    warnings: tuple[Warning_, ...]
    audit: AuditRecord
    units: str = "metric"
    currency: str = ""
    travel: str = ""
    must: tuple[str, ...] = ()
    replaces: str = ""
    changes: tuple[Change, ...] = ()
    difference: Difference | None = None
    trucks: tuple[str, ...] = ()
    noted: int = 0
    schema: str = SCHEMA

    @property
    def unfed(self) -> tuple[Unserved, ...]:
        """Yards that get nothing or only a part though they are due: the starving first, then by stores."""
        left = (u for u in self.unserved if u.unfed)
        return tuple(sorted(left, key=lambda u: (not u.starving, u.days_of_stores, u.yard_id)))

    @property
    def nothing_due(self) -> tuple[Unserved, ...]:
        """Yards listed as left out that need nothing today."""
        return tuple(u for u in self.unserved if not u.unfed)


@dataclass(frozen=True)
class Finding:
    """Something the audit found wrong. ``code`` names the rule; ``place`` says where in the plan."""

    code: str
    text: str
    truck_id: str | None = None
    seq: int | None = None
    place_id: str | None = None
