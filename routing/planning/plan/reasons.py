"""Say why a yard is left unfed, and what would have to change."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence

from routing.domain.plan import Unserved
from routing.domain.ration import ReasonCode, YardNeed
from routing.planning.evaluate.loads import Fault, plan_loads
from routing.planning.evaluate.state import INFEASIBLE, Judge, State
from routing.planning.plan.passed_over import passed_over
from routing.planning.problem.build import Day
from routing.planning.problem.frame import access
from routing.planning.problem.problem import Problem, Solution, Stops, depot_stop, visit_ml
from routing.planning.problem.split import Piece

LADEN = frozenset({Fault.SLOTS, Fault.WEIGHT, Fault.GATE_WEIGHT, Fault.TANK})
"""Faults that may come from what a truck in mid-day has aboard for other yards."""

FEW_DEPOTS = 12
NEAREST_DEPOTS = 4
"""Where an operation has many depots, only so many of each sort are tried for a yard that is left."""

WORDS: dict[ReasonCode, tuple[str, str]] = {
    ReasonCode.NO_TRUCK_FITS: (
        "no truck planned today may drive in (named trucks, length, or weight at the gate)",
        "plan a truck that is allowed, shorter or lighter, or ask for a higher limit",
    ),
    ReasonCode.NO_TANK_FOR_SYRUP: (
        "no truck that may drive in has a tank for this syrup",
        "free a tank for it, or feed a syrup that is aboard",
    ),
    ReasonCode.NO_PAIL_SLOTS: (
        "no truck that may drive in has room for its pails",
        "plan a truck with a pail rack, or feed from a tank",
    ),
    ReasonCode.NO_FULL_PAILS: (
        "its pails are filled at a base alone, and no base has syrup left for them",
        "bring syrup to a base that is open, use pails that are full already, or feed from a tank",
    ),
    ReasonCode.OUT_OF_HOURS: (
        "the hours for it (gate, daylight, warm or late enough) leave no time to drive there, feed and drive "
        "out again within a shift",
        "get longer gate hours, start earlier, or look at leave_by_window, daylight_only and warm_hours_only",
    ),
    ReasonCode.STOCK_SHORT: (
        "the depots do not hold enough syrup for it",
        "order or mix more of this syrup, or feed another",
    ),
    ReasonCode.BEYOND_SHIFT: (
        "even with nothing else to do no crew can load, drive there, feed and be back within its shift, "
        "driving hours and breaks",
        "allow a longer shift or overtime, start a truck nearer to it, or plan the drive over two days",
    ),
    ReasonCode.UNCLEAN_TRUCK: (
        "every truck that may drive in was in a yard of worse standing today, with no wash-down in reach",
        "wash a truck down first, send another, or feed it before the others tomorrow",
    ),
    ReasonCode.SHIFT_FULL: (
        "the crews' hours are full",
        "allow overtime, add a truck or crew, or feed it on another day",
    ),
    ReasonCode.NO_ROOM: (
        "no planned truck has room for it beside the other starving yards, in hours, load or gate times",
        "send another truck or crew today, allow overtime, or feed it first thing tomorrow",
    ),
    ReasonCode.NOT_WORTH: (
        "driving there costs more than the value set on leaving it (drop_value_per_colony)",
        "raise drop_value_per_colony, or combine it with another round",
    ),
}


def unserved_yards(day: Day, solution: Solution) -> list[Unserved]:
    """Every yard not fully fed, in the order of the operation, need's own refusals among them."""
    judge = Judge(day.problem)
    final = State(judge)
    for truck, stops in enumerate(solution.routes):
        final.put(truck, stops)
    left: dict[str, list[int]] = defaultdict(list)
    for visit in solution.unserved:
        left[day.pieces[visit][0].yard_id].append(visit)
    found = []
    for need in day.needs:
        if not need.doses:
            found.append(_refused(need))
        elif need.yard_id in left:
            found.append(_left(day, need, left[need.yard_id], final))
    return found


def _refused(need: YardNeed) -> Unserved:
    code = need.reason_code or ReasonCode.STORES_ENOUGH
    return Unserved(
        need.yard_id, code.value, *unserved_words(need, code, 0), need.days_of_stores, 0, 0.0, need.starving
    )


def unserved_words(need: YardNeed, code: ReasonCode, colonies: int) -> tuple[str, str]:
    """Reason and remedy in words, for a yard of which so many colonies are left for ``code``."""
    if not need.doses:
        return need.reason or need.why, need.remedy or "nothing to do today"
    reason, remedy = WORDS[code]
    if colonies < need.fed_colonies:
        reason = f"{colonies} of {need.fed_colonies} colonies are left: {reason}"
    return reason, remedy


def _left(day: Day, need: YardNeed, visits: Sequence[int], final: State) -> Unserved:
    code = _code(day, visits[0], final)
    pieces = [day.pieces[v][1] for v in visits]
    volume = sum(dose.each_l * colonies for piece in pieces for dose, colonies in piece)
    colonies = sum(n for piece in pieces for _, n in piece)
    reason, remedy = unserved_words(need, code, colonies)
    if code in (ReasonCode.SHIFT_FULL, ReasonCode.NOT_WORTH) and (
        richer := passed_over(day, need, visits[0], final)
    ):
        reason = f"{reason}; {richer}"
    cost = sum(
        dose.each_l * n * (day.operation.syrups[dose.syrup_id].price_per_l or 0.0)
        for piece in pieces
        for dose, n in piece
    )
    return Unserved(
        need.yard_id, code.value, reason, remedy, need.days_of_stores, colonies, round(volume, 3),
        need.starving, cost,
    )  # fmt: skip


def _code(day: Day, visit: int, final: State) -> ReasonCode:
    """The first thing in the way: access, tanks, racks, stock, hours."""
    problem = day.problem
    need, piece = day.pieces[visit]
    yard = day.operation.yards[need.yard_id]
    able = access(day.trucks, yard)
    if not able:
        return ReasonCode.NO_TRUCK_FITS
    if not problem.eligible_trucks[visit]:
        return _no_room(day, piece, sorted(able))
    full = ReasonCode.NO_ROOM if problem.visits[visit].required else ReasonCode.SHIFT_FULL
    alone, fault = _alone(day, visit, final)
    if alone == INFEASIBLE:
        if fault in LADEN and _room_later(problem, visit, final):
            return full
        nothing: Counter[tuple[int, int]] = Counter()
        return {
            Fault.WINDOW: ReasonCode.OUT_OF_HOURS,
            Fault.SUPPLY: _lacking(problem, visit, nothing) or ReasonCode.STOCK_SHORT,
            Fault.STOCK: _lacking(problem, visit, nothing) or ReasonCode.STOCK_SHORT,
            Fault.TANK: ReasonCode.NO_TANK_FOR_SYRUP,
            Fault.SLOTS: ReasonCode.NO_PAIL_SLOTS,
            Fault.WEIGHT: ReasonCode.NO_TRUCK_FITS,
            Fault.GATE_WEIGHT: ReasonCode.NO_TRUCK_FITS,
            Fault.HYGIENE: ReasonCode.UNCLEAN_TRUCK,
        }.get(fault, ReasonCode.BEYOND_SHIFT)
    gone = _lacking(problem, visit, final.used)
    if gone is not None and not _spare_aboard(problem, visit, final):
        return gone
    if alone > problem.visits[visit].value and not problem.visits[visit].required:
        return ReasonCode.NOT_WORTH
    return full


def _no_room(day: Day, piece: Piece, able: Sequence[int]) -> ReasonCode:
    for dose, _ in piece:
        s = day.syrups.index(dose.syrup_id)
        if not dose.swapped and not any(day.problem.trucks[k].capacity_ml[s] for k in able):
            return ReasonCode.NO_TANK_FOR_SYRUP
        if dose.swapped and not any(day.problem.trucks[k].pail_slots for k in able):
            return ReasonCode.NO_PAIL_SLOTS
    return ReasonCode.NO_TRUCK_FITS


def _alone(day: Day, visit: int, final: State) -> tuple[float, Fault]:
    """What this visit alone adds to a truck's day, or the rule that comes closest to allowing it.

    What a truck lacks (tanks, slots, payload) is named only where every truck lacks something.
    """
    problem = day.problem
    best, furthest = INFEASIBLE, []
    # A call at a depot that has none of it tells nothing where another depot has.
    order = [Fault.SUPPLY, *(fault for fault in Fault if fault is not Fault.SUPPLY)]
    empty = State(final.judge)
    unlike = {problem.identical_trucks[k]: k for k in reversed(problem.eligible_trucks[visit])}
    for k in sorted(unlike.values()):
        depots = [depot_stop(d) for d in _on_the_way(problem, k, visit)]
        calls: list[Stops] = [(visit,), *((d, visit) for d in depots)]
        if all(empty.route_cost(k, stops) == INFEASIBLE for stops in calls):
            calls += [(first, then, visit) for first in depots for then in depots if first != then]
        faults = []
        for stops in calls:
            best = min(best, empty.route_cost(k, stops) - empty.route_cost(k, ()))
            faults.append(final.judge(k, stops).fault or Fault.STOCK)
        met = [fault for fault in faults if fault is not Fault.IDLE_REFILL]
        furthest.append(max(met, key=order.index, default=Fault.SUPPLY))
    able = [fault for fault in furthest if fault not in LADEN]
    return best, max(able or furthest, key=order.index, default=Fault.SUPPLY)


def _on_the_way(problem: Problem, truck: int, visit: int) -> list[int]:
    """Depots worth a call before a visit: all of a few, else the nearest that have what it may want."""
    spec, place = problem.trucks[truck], problem.visits[visit].place
    metres = problem.distance_rows[spec.matrix]
    start = problem.depots[spec.start].place

    def way_m(d: int) -> int:
        there = problem.depots[d].place
        return metres[start][there] + metres[there][place]

    if len(spec.refill_depots) <= FEW_DEPOTS:
        return list(spec.refill_depots)
    near = sorted(spec.refill_depots, key=way_m)
    wanted = [s for s in range(len(problem.density_g_ml)) if visit_ml(problem.visits[visit], s)]
    kinds = [[d for d in near if problem.depots[d].supplies[s] is not None] for s in wanted]
    kinds += [[d for d in near if problem.depots[d].wash], [d for d in near if problem.depots[d].pails]]
    kept = {d for kind in kinds for d in kind[:NEAREST_DEPOTS]}
    return [d for d in spec.refill_depots if d in kept]


def _room_later(problem: Problem, visit: int, final: State) -> bool:
    """Whether the visit could be carried, hours aside, once a truck in mid-day has fed what it is to feed."""
    for k in problem.eligible_trucks[visit]:
        if not problem.trucks[k].on_the_clock or not final.routes[k]:
            continue
        for call in ((), *((depot_stop(d),) for d in _on_the_way(problem, k, visit))):
            if plan_loads(problem, k, (*final.routes[k], *call, visit)).fault is None:
                return True
    return False


def _lacking(problem: Problem, visit: int, used: Counter[tuple[int, int]]) -> ReasonCode | None:
    """What no depot has left for the visit: syrup at all, or syrup where pails are filled; None: nothing."""
    wanted = problem.visits[visit]
    for s in range(len(problem.density_g_ml)):
        left = {
            d: float("inf") if supply.stock_ml is None else float(supply.stock_ml - used[d, s])
            for d, depot in enumerate(problem.depots)
            if (supply := depot.supplies[s]) is not None
        }
        bulk_ml = wanted.bulk_ml[s] if wanted.bulk_ml else 0
        pail_ml = wanted.pail_ml[s] if wanted.pail_ml else 0
        most = max(left.values(), default=0.0)
        if most < max(bulk_ml, pail_ml) or sum(left.values()) < bulk_ml + pail_ml:
            return ReasonCode.STOCK_SHORT
        if pail_ml > max((ml for d, ml in left.items() if problem.depots[d].pails), default=0.0):
            return ReasonCode.NO_FULL_PAILS
    return None


def _spare_aboard(problem: Problem, visit: int, final: State) -> bool:
    """Whether a truck that may go there comes home with enough for the visit."""
    wanted = problem.visits[visit]
    for k in problem.eligible_trucks[visit]:
        bulk, pails = _home_with(problem, k, final.routes[k])
        enough = zip((*bulk, *pails), (*wanted.bulk_ml, *wanted.pails), strict=False)
        if all(have >= want for have, want in enough):
            return True
    return False


def _home_with(problem: Problem, truck: int, stops: Stops) -> tuple[list[int], list[int]]:
    """Millilitres in the tanks, and full pails, that a truck comes home with, by commodity."""
    spec = problem.trucks[truck]
    bulk, pails = list(spec.level_ml), list(spec.pails_aboard or (0,) * len(spec.level_ml))
    for loading in plan_loads(problem, truck, stops).loading.values() if stops else ():
        bulk = [a + b for a, b in zip(bulk, loading.bulk_ml, strict=True)]
        pails = [a + b for a, b in zip(pails, loading.pails, strict=True)]
    for fed in (problem.visits[stop] for stop in stops if stop >= 0):
        bulk = [a - b for a, b in zip(bulk, fed.bulk_ml, strict=True)]
        pails = [a - b for a, b in zip(pails, fed.pails or (0,) * len(pails), strict=True)]
    return bulk, pails
