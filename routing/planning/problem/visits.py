"""State the yards of a day as visits that one truck can make."""

from __future__ import annotations

from math import ceil, floor, inf

from routing.domain.operation import place_key
from routing.domain.places import Health, Yard
from routing.domain.ration import YardNeed
from routing.need.urgency import unfed_value_per_colony
from routing.planning.problem.feeding_hours import begin_openings, stay_openings
from routing.planning.problem.frame import ML, Frame, G, access
from routing.planning.problem.problem import TruckSpec, Visit
from routing.planning.problem.split import Piece, split_doses


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
    return Visit(
        place=frame.travel.index(place_key("yard", yard.yard_id)),
        bulk_ml=tuple(bulk),
        value=unfed_value_per_colony(op, need.yard_id, need.days_of_stores) * sum(n for _, n in piece),
        pail_ml=tuple(pail_ml) if carried else (),
        pails=tuple(pails) if carried else (),
        empties=sum(pails) if back else 0,
        setup_s=yard.setup_s,
        handling_s=ceil(sum(dose.service_s * colonies for dose, colonies in piece) - 1e-9),
        windows=stay_openings(frame, yard),
        begin=begin_openings(frame, need),
        leave_by=op.shift.leave_by_window,
        trucks=access(frame.trucks, yard),
        max_gross_g=None if yard.max_gross_kg is None else floor(yard.max_gross_kg * G),
        required=need.required,
        rank=_rank(frame, yard),
        pours=tuple(
            (frame.syrups.index(dose.syrup_id), colonies, dose.each_l * ML)
            for dose, colonies in piece
            if not dose.swapped
        ),
        name=need.yard_id,
    )


def split_need(frame: Frame, need: YardNeed, specs: tuple[TruckSpec, ...]) -> list[Piece]:
    """The pieces of a yard; doses that no truck has a tank or a rack for are kept apart."""
    if not need.doses:
        return []
    yard = frame.operation.yards[need.yard_id]
    opens = _opens(frame, need)
    trucks = [specs[k] for k in sorted(access(frame.trucks, yard))]
    whole = tuple((d, d.colonies) for d in need.doses)
    # Most yards are fed whole by the first truck: in a large fleet the others need not be asked.
    if any(_share(frame, whole, yard, t, _stay_s(frame, yard, opens, t)) <= 1 for t in trucks):
        return [whole]
    able = [(truck, _stay_s(frame, yard, opens, truck)) for truck in trucks]

    def share(piece: Piece) -> float:
        return min((_share(frame, piece, yard, truck, stay_s) for truck, stay_s in able), default=inf)

    carried = [d for d in need.doses if share(((d, 1),)) <= 1]
    stuck = tuple((d, d.colonies) for d in need.doses if d not in carried)
    return split_doses(carried, share) + ([stuck] if stuck else [])


def _share(frame: Frame, piece: Piece, yard: Yard, truck: TruckSpec, stay_s: tuple[int, int]) -> float:
    """The largest share of any limit of a truck that a piece takes; over 1 it does not fit."""
    bulk, pail_ml, pails = _amounts(frame, piece)
    load_g = sum(pails) * frame.operation.work.pail_kg * G
    load_g += sum((b + p) * d for b, p, d in zip(bulk, pail_ml, frame.density, strict=True))
    limit = truck.gross_g if yard.max_gross_kg is None else min(truck.gross_g, yard.max_gross_kg * G)
    handling = sum(dose.service_s * colonies for dose, colonies in piece)
    seconds = yard.setup_s + ceil(handling / truck.hands)
    if truck.pump_ml_s:
        seconds = max(seconds, yard.setup_s + ceil(sum(bulk) / truck.pump_ml_s))
    longest_s, with_loading_s = stay_s
    pairs: list[tuple[float, float]] = [(ml, cap) for ml, cap in zip(bulk, truck.capacity_ml, strict=True)]
    pairs += [(sum(pails), truck.pail_slots), (ceil(load_g), max(0, limit - truck.tare_g))]
    pairs += [(seconds, longest_s), (seconds + _loading_s(frame, bulk, pails, truck), with_loading_s)]
    return max((used / most if most > 0 else (inf if used else 0.0)) for used, most in pairs)


def _loading_s(frame: Frame, bulk: list[int], pails: list[int], truck: TruckSpec) -> int:
    """The least time to take aboard what a piece asks for beyond what the truck has in its tanks."""
    seconds = sum(pails) * frame.operation.work.pail_load_s
    for syrup, ml, have in zip(frame.syrups, bulk, truck.level_ml, strict=True):
        if ml > have and syrup in frame.fastest_l_per_s:
            seconds += (ml - have) / ML / frame.fastest_l_per_s[syrup]
    return ceil(seconds)


def _opens(frame: Frame, need: YardNeed) -> list[tuple[int, int, int]]:
    """When feeding may begin: from, at the latest, and when the gate shuts."""
    begin = begin_openings(frame, need)
    gates = stay_openings(frame, frame.operation.yards[need.yard_id])
    return [(max(a, c), min(b, d), b) for a, b in gates for c, d in begin if max(a, c) <= min(b, d)]


def _stay_s(frame: Frame, yard: Yard, opens: list[tuple[int, int, int]], truck: TruckSpec) -> tuple[int, int]:
    """The longest that a crew may stand in a yard at a stretch; and that with the loading before it.

    It drives there from its start and on to its end within its shift, stays within one opening of the
    gate, and has its last break where it was before the drive.
    """
    table, depots = frame.travel.matrix_for(truck.name).drive_s, frame.depot_places
    here = frame.travel.index(place_key("yard", yard.yard_id))
    there_s, back_s = int(table[depots[truck.start], here]), int(table[here, depots[truck.end]])
    first, last = truck.earliest_s + there_s, truck.latest_s - back_s
    leave_by = frame.operation.shift.leave_by_window
    stays = [
        (min(shuts, last) if leave_by else last) - max(soon, first)
        for soon, late, shuts in opens
        if first <= late
    ]
    longest = max(0, *stays) if stays else 0
    if truck.break_s and not truck.break_on_driving:
        longest = min(longest, truck.break_after_s - int(table[depots, here].min()))
    in_shift = min(truck.latest_s - truck.earliest_s, truck.max_s) - there_s - back_s
    return longest, in_shift
