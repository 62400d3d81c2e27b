"""State the yards of a day as visits that one truck can make."""

from __future__ import annotations

from math import ceil, floor, inf

from routing.domain.operation import place_key
from routing.domain.places import Health, Yard
from routing.domain.ration import YardNeed
from routing.planning.frame import ML, Frame, G, access
from routing.planning.problem import FOREVER, TruckSpec, Visit
from routing.planning.split import Piece, split_doses


def _rank(frame: Frame, yard: Yard) -> int:
    if yard.health is Health.WATCH and not frame.operation.work.watch_after_clean:
        return 0
    return yard.health.rank


def _amounts(frame: Frame, piece: Piece) -> tuple[list[int], list[int], list[int]]:
    """Pumped millilitres, millilitres in pails and pails, by syrup."""
    bulk, pail_ml, pails = ([0] * len(frame.syrups) for _ in range(3))
    for dose, colonies in piece:
        s, ml = frame.syrups.index(dose.syrup_id), round(dose.each_l * colonies * ML)
        if dose.swapped:
            pail_ml[s] += ml
            pails[s] += colonies
        else:
            bulk[s] += ml
    return bulk, pail_ml, pails


def visit_spec(frame: Frame, need: YardNeed, piece: Piece) -> Visit:
    """One piece of a yard's need as a visit."""
    op, yard = frame.operation, frame.operation.yards[need.yard_id]
    bulk, pail_ml, pails = _amounts(frame, piece)
    carried = any(pails)
    back = carried and yard.health is not Health.QUARANTINE
    windows = frame.clock.openings(yard.windows, frame.earliest_s, frame.latest_s)
    late = need.windows or ()
    return Visit(
        place=frame.travel.index(place_key("yard", yard.yard_id)),
        bulk_ml=tuple(bulk),
        value=op.cost.drop_value_per_colony * sum(colonies for _, colonies in piece),
        pail_ml=tuple(pail_ml) if carried else (),
        pails=tuple(pails) if carried else (),
        empties=sum(pails) if back else 0,
        setup_s=yard.setup_s,
        handling_s=ceil(sum(dose.service_s * colonies for dose, colonies in piece) - 1e-9),
        windows=windows,
        begin=frame.clock.openings(late, frame.earliest_s, frame.latest_s) if late else FOREVER,
        leave_by=op.shift.leave_by_window,
        trucks=access(frame.trucks, yard),
        max_gross_g=None if yard.max_gross_kg is None else floor(yard.max_gross_kg * G),
        required=need.starving,
        rank=_rank(frame, yard),
        name=need.yard_id,
    )


def split_need(frame: Frame, need: YardNeed, specs: tuple[TruckSpec, ...]) -> list[Piece]:
    """The pieces of a yard; doses that no truck has a tank or a rack for are kept apart."""
    yard = frame.operation.yards[need.yard_id]
    able = sorted(access(frame.trucks, yard))
    carried = [d for d in need.doses if any(_share(frame, ((d, 1),), yard, specs[k]) <= 1 for k in able)]
    stuck = tuple((d, d.colonies) for d in need.doses if d not in carried)

    def share(piece: Piece) -> float:
        return min((_share(frame, piece, yard, specs[k]) for k in able), default=inf)

    return split_doses(carried, share) + ([stuck] if stuck else [])


def _share(frame: Frame, piece: Piece, yard: Yard, truck: TruckSpec) -> float:
    """The largest share of any limit of a truck that a piece takes; over 1 it does not fit."""
    bulk, pail_ml, pails = _amounts(frame, piece)
    load_g = sum(pails) * frame.operation.work.pail_kg * G
    load_g += sum((b + p) * d for b, p, d in zip(bulk, pail_ml, frame.density, strict=True))
    limit = truck.gross_g if yard.max_gross_kg is None else min(truck.gross_g, yard.max_gross_kg * G)
    seconds = yard.setup_s + ceil(sum(dose.service_s * colonies for dose, colonies in piece))
    if truck.pump_ml_s:
        seconds = max(seconds, yard.setup_s + ceil(sum(bulk) / truck.pump_ml_s))
    pairs: list[tuple[float, float]] = [(ml, cap) for ml, cap in zip(bulk, truck.capacity_ml, strict=True)]
    pairs += [(sum(pails), truck.pail_slots), (ceil(load_g), max(0, limit - truck.tare_g))]
    pairs.append((seconds, _longest_visit_s(frame, yard, truck)))
    return max((used / most if most else (inf if used else 0.0)) for used, most in pairs)


def _longest_visit_s(frame: Frame, yard: Yard, truck: TruckSpec) -> int:
    """The longest that a crew may stand in a yard at a stretch."""
    longest = truck.latest_s - truck.earliest_s
    if truck.break_s and not truck.break_on_driving:
        longest = min(longest, truck.break_after_s)
    if frame.operation.shift.leave_by_window:
        open_s = [b - a for a, b in frame.clock.openings(yard.windows, frame.earliest_s, frame.latest_s)]
        longest = min(longest, max(open_s, default=0))
    return longest
