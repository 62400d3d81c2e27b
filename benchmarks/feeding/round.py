"""Drive a round of several days: plan a day, play it, and carry on with what it left.

What the day brought is told to the project's own day log, and what is left is what the log says: yards
undone, litres in the tanks and in store. Stores of the colonies that wait go down by the day.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from routing.audit import audit
from routing.domain.fleet import Tank, Truck
from routing.domain.operation import Operation
from routing.domain.places import Depot
from routing.domain.plan import Plan
from routing.domain.ration import NOTHING_DUE, YardNeed
from routing.domain.travel import Travel
from routing.log.day import DayNow, TruckNow
from routing.log.fold.fold import day_now
from routing.need.ration import need_of_day
from routing.planning.plan.day import write_day
from routing.planning.problem.build import Day, build_days
from routing.planning.replan.remaining_day import DayInProgress, remaining_day
from routing.planning.run.solve import Outcome, SolveOptions
from tests.support.day_player import played
from tests.support.invented.invent import DAY

DAYS_MOST = 12
Decide = Callable[[Sequence[Day], int], Outcome]
"""Routes for a day, stated for each choice of syrups, on the day of the round with this number."""


@dataclass(frozen=True)
class DayDriven:
    """One day of a round: money without the syrup, what was fed, and what still waited at night.

    ``hungry`` are yards that were starving in the morning and still waited at night; ``findings`` is what
    the audit found.
    """

    date: str
    due: int
    fed: int
    waiting: int
    hungry: int
    money: float
    distance_km: float
    work_h: float
    volume_l: float
    findings: int


def drive_round(
    operation: Operation, travel: Travel, decide: Decide, days_most: int = DAYS_MOST, first: date = DAY
) -> list[DayDriven]:
    """The days of a round, until nothing is due, or a day feeds nobody, or there were so many.

    A yard that was fed is done with for the round.
    """
    driven: list[DayDriven] = []
    for number in range(days_most):
        day = first + timedelta(days=number)
        needs = need_of_day(operation, day)
        if not any(need.doses for need in needs):
            break
        plan, found = _driven(operation, travel, needs, day, number, decide)
        driven.append(found)
        operation = next_morning(operation, travel, plan)
        if not found.fed:
            break
    return driven


def _driven(
    operation: Operation, travel: Travel, needs: Sequence[YardNeed], day: date, number: int, decide: Decide
) -> tuple[Plan, DayDriven]:
    days = build_days(operation, travel, day, needs)
    outcome = decide(days, number)
    plan = replace(write_day(days[outcome.variant], outcome, SolveOptions(None, 1)), plan_id=f"day-{number}")
    waiting = {u.yard_id for u in plan.unserved if u.reason_code not in NOTHING_DUE}
    starving = {need.yard_id for need in needs if need.starving and need.doses}
    totals = plan.totals
    return plan, DayDriven(
        date=day.isoformat(),
        due=sum(bool(need.doses) for need in needs),
        fed=totals.served_yards,
        waiting=len(waiting),
        hungry=len(waiting & starving),
        money=round(totals.cost.total - totals.cost.syrup, 2),
        distance_km=round(totals.distance_m / 1000, 1),
        work_h=round(totals.work_s / 3600, 2),
        volume_l=round(totals.volume_l, 1),
        findings=len(audit(operation, travel, plan).findings),
    )


def next_morning(operation: Operation, travel: Travel, plan: Plan) -> Operation:
    """The operation as a day leaves it when all went by its plan."""
    night = operation.clock(plan.date + timedelta(days=1)).at(0)
    last = max((route.end for route in plan.routes), default=night)
    now = day_now(operation, plan.date, {plan.plan_id: plan}, played(plan, last), max(last, night))
    rest = remaining_day(DayInProgress(operation, travel, now, plan)).operation
    trucks = {t.truck_id: _at_night(t, now.trucks.get(t.truck_id)) for t in operation.trucks.values()}
    return replace(rest, trucks=trucks, depots=_put_back(rest.depots, operation, now))


def _at_night(truck: Truck, state: TruckNow | None) -> Truck:
    """The truck with what is left in its tanks."""
    if state is None:
        return truck
    tanks = []
    for tank in truck.tanks:
        held = state.tanks.get(tank.tank_id)
        tanks.append(tank if held is None else _holding(tank, held.syrup_id, held.volume_l))
    return replace(truck, tanks=tuple(tanks))


def _holding(tank: Tank, syrup_id: str | None, volume_l: float) -> Tank:
    level = min(max(0.0, volume_l), tank.capacity_l)
    return replace(tank, level_l=level, syrup_id=(syrup_id if level else None) or tank.syrup_id)


def _put_back(depots: dict[str, Depot], operation: Operation, now: DayNow) -> dict[str, Depot]:
    """Full pails that came home are taken off the truck, their syrup back into store."""
    found = dict(depots)
    for truck in operation.trucks.values():
        state = now.trucks.get(truck.truck_id)
        for syrup_id, held in state.pails.items() if state else ():
            depot = found[truck.end_depot]
            found[truck.end_depot] = replace(
                depot,
                stock=tuple(
                    replace(row, on_hand_l=row.on_hand_l + held.volume_l)
                    if row.syrup_id == syrup_id and row.on_hand_l is not None
                    else row
                    for row in depot.stock
                ),
            )
    return found
