"""Add to a plan the cautions that belong to it: starving yards missed, disease, weight, hours, stings."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from routing.domain.operation import Operation
from routing.domain.places import Foulbrood, Health, Priority
from routing.domain.plan import Plan, Route, Stop, Warning_
from routing.domain.ration import YardNeed
from routing.planning.plan.stop_cautions import stop_cautions

# A truck loaded to within this share of its legal gross is worth a scale ticket.
NEAR_LIMIT = 0.98
# Part-full tanks without baffles surge (CDL manual, section 8: liquid surge).
SLOSH = (0.2, 0.8)


def plan_cautions(operation: Operation, needs: Sequence[YardNeed], plan: Plan) -> Plan:
    """The plan with every caution that its yards, loads and hours call for."""
    found = [
        *_starving(operation, plan),
        *_asked_for(operation, plan),
        *_disease(operation, plan),
        *(w for route in plan.routes for w in _truck(operation, route)),
        *stop_cautions(operation, plan),
        *_general(operation, plan),
    ]
    return replace(plan, warnings=(*plan.warnings, *dict.fromkeys(found)))


def _starving(operation: Operation, plan: Plan) -> Iterator[Warning_]:
    for left in plan.unserved:
        if left.starving:
            name = operation.yards[left.yard_id].name
            yield Warning_(
                "starving_unserved",
                f"{name} is starving ({left.days_of_stores:.0f} days of stores) and is not fed today: "
                f"{left.reason}. Do this: {left.remedy}.",
                left.yard_id,
            )


def _asked_for(operation: Operation, plan: Plan) -> Iterator[Warning_]:
    """Yards that the keeper put down as a must and that go unfed; named today, also with nothing due."""
    for left in plan.unserved:
        yard = operation.yards[left.yard_id]
        named = left.yard_id in plan.must or bool(yard.called_in)
        if not left.starving and (named or (yard.priority is Priority.MUST and left.unfed)):
            yield Warning_(
                "must_unserved",
                f"{yard.name} must be fed by your word and is not fed today: {left.reason}. "
                f"Do this: {left.remedy}.",
                left.yard_id,
            )


def _disease(operation: Operation, plan: Plan) -> Iterator[Warning_]:
    for route in plan.routes:
        for stop in route.stops:
            if stop.kind != "yard" or operation.yards[stop.place_id].health is not Health.QUARANTINE:
                continue
            yield Warning_(
                "quarantine",
                f"{operation.yards[stop.place_id].name} is under quarantine: go only if your permit covers "
                "it, wash hands, gear and truck after it, bring no pails, frames or feeders back.",
                stop.place_id,
            )
            if (yard := operation.yards[stop.place_id]).foulbrood is not Foulbrood.NO:
                # Germany's bee disease order, sections 10 to 12: feed stocks and used gear may not leave.
                yield Warning_(
                    "foulbrood",
                    f"Foulbrood is {yard.foulbrood.value} at {yard.name}: the permit on record "
                    f"({yard.permit}) binds, and the bee inspector decides. In some countries neither "
                    "left-over syrup nor gear may leave such a yard: ask before you go what may be carried "
                    "out, and leave the rest.",
                    stop.place_id,
                )


def _truck(operation: Operation, route: Route) -> Iterator[Warning_]:
    truck = operation.trucks[route.truck_id]
    heaviest = max(stop.after.gross_kg for stop in route.stops)
    if heaviest >= NEAR_LIMIT * truck.gvwr_kg:
        yield Warning_(
            "near_legal_weight",
            f"{truck.truck_id} is loaded to within {(1 - heaviest / truck.gvwr_kg) * 100:.1f} % of its legal "
            "gross weight: weigh it loaded once; axle limits are yours to check.",
            truck_id=truck.truck_id,
        )
    if route.totals.overtime_s:
        yield Warning_(
            "overtime",
            f"{truck.truck_id} works {route.totals.overtime_s / 3600:.1f} h of overtime: a tired driver is a "
            "risk; the hours-of-service rules that bind you decide, not this plan.",
            truck_id=truck.truck_id,
        )
    loose = [
        tank.tank_id
        for tank in truck.tanks
        if not tank.baffled and _part_full(route.stops, tank.tank_id, tank.capacity_l)
    ]
    if loose:
        yield Warning_(
            "surge",
            f"{truck.truck_id} drives with part-full unbaffled tanks ({', '.join(loose)}): the load surges; "
            "brake early and take curves well under the posted speed.",
            truck_id=truck.truck_id,
        )


def _part_full(stops: Sequence[Stop], tank_id: str, capacity_l: float) -> bool:
    low, high = SLOSH
    return any(low < stop.after.tanks[tank_id].volume_l / capacity_l < high for stop in stops[:-1])


def _general(operation: Operation, plan: Plan) -> Iterator[Warning_]:
    if plan.routes:
        yield Warning_(
            "stings",
            "Nobody who reacts badly to stings works alone; carry what your doctor gave you, and call for "
            "help even after using it.",
        )
    if operation.feeding.robbing == "high":
        yield Warning_(
            "robbing",
            "Robbing is high: spill nothing, reduce entrances before you open the first hive, close each "
            "hive at once, and stop where bees begin to fight.",
        )
