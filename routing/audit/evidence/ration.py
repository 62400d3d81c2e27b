"""Work out again what one colony of a group is to get on the planned day, or why it gets nothing.

The rules are those of docs/need.md, stated a second time; nothing is shared with the code that made the plan.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, floor

from routing.audit.evidence.book import Book
from routing.audit.evidence.on_hand import (
    OnHand,
    air,
    days_since,
    honey_kg_per_l,
    keeping_days,
    on_hand,
    uptake_l,
    use_kg,
)
from routing.audit.evidence.stores import flow_meets_goal, goal_kg, group_days, holds_kg
from routing.domain.places import ColonyGroup, Foulbrood, Health, Yard
from routing.domain.supplies import Feeder, FeederPosition, Risk, Syrup
from routing.domain.units import L_PER_US_GAL

HALF_PAIL = 0.5
"""A pail is swapped when at least half a new one is wanted."""

LEAST_L = 0.001
"""Doses are given to the millilitre: less is nothing."""

NOISE_L = 1e-6
"""Wants so near a step of the measure may be rounded to either side of it."""

BY_REMEDY = (
    "feeder_refused", "too_cold", "feeder_full", "no_inspection", "flow_on", "stores_enough", "no_colonies",
)  # fmt: skip
"""Where the groups of a yard differ, the reason that a person can do most about speaks for it."""


@dataclass(frozen=True)
class Share:
    """Litres that each colony of a group may be given (more than one where rounding may fall either way).

    ``reason``: the code why it gets nothing; empty where it is fed.
    """

    each_l: tuple[float, ...] = ()
    reason: str = ""


def shares(book: Book, yard: Yard) -> dict[str, Share]:
    """The share of every group of a yard that has colonies, by its name; what forbids all forbids each."""
    forbidden = forbids_yard(book, yard)
    return {
        group.group: Share(reason=forbidden) if forbidden else _share(book, yard, group)
        for group in book.operation.groups_of(yard.yard_id)
        if group.colonies > 0
    }


def reason_for_none(book: Book, yard: Yard) -> str:
    """The code why a whole yard gets nothing; empty where some group of it is fed."""
    if forbidden := forbids_yard(book, yard):
        return forbidden
    found = shares(book, yard).values()
    if any(not share.reason for share in found):
        return ""
    return min((share.reason for share in found), key=BY_REMEDY.index)


def forbids_yard(book: Book, yard: Yard) -> str:
    """The code of what forbids feeding a whole yard on the planned day, the first that holds; or nothing."""
    op, day, groups = book.operation, book.plan.date, book.operation.groups_of(yard.yard_id)
    foul = yard.foulbrood is not Foulbrood.NO and not yard.permit.strip()
    quarantined = yard.health is Health.QUARANTINE and not op.work.quarantine_permit
    early = yard.from_date is not None and day < yard.from_date
    late = yard.until_date is not None and day > yard.until_date
    for code, holds in (
        ("no_inspection", not groups),
        ("no_colonies", all(group.colonies == 0 for group in groups)),
        ("no_permit", foul or quarantined),
        ("closed", early or late),
        ("supers_on", yard.supers_on),
        ("too_cold", air(book, yard) < op.feeding.min_feed_c),
    ):
        if holds:
            return code
    return ""


def _share(book: Book, yard: Yard, group: ColonyGroup) -> Share:
    feeding = book.operation.feeding
    feeder, syrup = book.operation.feeders[group.feeder_id], book.operation.syrups[group.syrup_id]
    if group.strength_frames <= 0:
        return Share(reason="feeder_refused")
    if days_since(book, group) > feeding.stale_days:
        return Share(reason="no_inspection")
    if flow_meets_goal(book, group):
        return Share(reason="flow_on")
    if _may_not_be_filled(book, yard, feeder):
        return Share(reason="feeder_refused")
    has, room = on_hand(book, group), _room(book, yard, group, feeder, syrup)
    short_l = lacking_l(book, group, has, syrup)
    want_l = short_l - has.feeder_kg / honey_kg_per_l(book, syrup)
    if reason := _why_nothing(book, group, feeder, has, short_l, want_l, room):
        return Share(reason=reason)
    if feeder.swapped:
        return Share(each_l=(_to_the_millilitre(room.now_l, feeder),))
    near = (want_l - NOISE_L, want_l, want_l + NOISE_L)
    doses = {_to_the_millilitre(_measured(book, want, room), feeder) for want in near}
    return Share(each_l=tuple(sorted(doses)))


def _may_not_be_filled(book: Book, yard: Yard, feeder: Feeder) -> bool:
    """Open tubs only by choice, among clean yards, without robbing; nothing that drips under robbing."""
    feeding, robbed = book.operation.feeding, book.operation.feeding.robbing == "high"
    if feeder.position is FeederPosition.COMMUNAL:
        return not feeding.communal or robbed or yard.health is not Health.CLEAN
    return feeder.spills is Risk.HIGH and robbed and feeding.spill_prone == "never"


def lacking_l(book: Book, group: ColonyGroup, has: OnHand, syrup: Syrup) -> float:
    """Litres of syrup that bring one colony to its goal, what is in its feeder not counted."""
    feeding, use = book.operation.feeding, use_kg(book, group)
    stands_kg = goal_kg(book, group)
    by_next_visit_kg = (use - group.flow_kg_per_day) * feeding.next_visit_days
    if feeding.goal == "winter" and has.stores_kg + has.feeder_kg >= stands_kg:
        by_next_visit_kg = 0.0
    wanted_kg = min(holds_kg(book, group), stands_kg + by_next_visit_kg)
    litres = max(0.0, wanted_kg - has.stores_kg) / honey_kg_per_l(book, syrup)
    if _starves(book, group):
        litres = max(litres, feeding.min_dose_l)
    if feeding.goal == "build":
        litres = max(litres, feeding.build_l_per_day * feeding.next_visit_days)
    return litres


def _starves(book: Book, group: ColonyGroup) -> bool:
    return group_days(book, group) < book.operation.feeding.starving_days


@dataclass(frozen=True)
class _Room:
    """What the feeder of one colony takes: empty, now, and before the syrup in it spoils, litres."""

    empty_l: float
    now_l: float
    eaten_l: float


def _room(book: Book, yard: Yard, group: ColonyGroup, feeder: Feeder, syrup: Syrup) -> _Room:
    air_c, outside = air(book, yard), feeder.position.value in ("entrance", "communal")
    sharers = group.colonies if feeder.position is FeederPosition.COMMUNAL else 1
    holds_l = feeder.capacity_l * (1.0 - (0.0 if yard.level else feeder.tilt_derate))
    free_l = max(0.0, holds_l - on_hand(book, group).feeder_l * sharers)
    eaten_l = uptake_l(book, group, feeder, air_c) * keeping_days(book, syrup, air_c, outside=outside)
    return _Room(holds_l / sharers, free_l / sharers, eaten_l)


def _why_nothing(
    book: Book,
    group: ColonyGroup,
    feeder: Feeder,
    has: OnHand,
    short_l: float,
    want_l: float,
    room: _Room,
) -> str:
    """The code of what stands against a dose, want and room being known; or nothing."""
    feeding, starving = book.operation.feeding, _starves(book, group)
    least_l, half_l = feeding.min_dose_l, HALF_PAIL * room.now_l
    waits = (not starving or feeder.swapped) and has.feeder_l > 0
    for code, holds in (
        ("feeder_full", want_l < least_l <= short_l),
        ("stores_enough", want_l < least_l),
        ("feeder_refused", room.empty_l < least_l),
        ("feeder_full", room.now_l < least_l),
        ("feeder_full", waits and has.feeder_l >= feeding.refill_below * room.empty_l),
        ("feeder_refused", room.eaten_l < LEAST_L),
        ("feeder_refused", not starving and room.eaten_l < (half_l if feeder.swapped else least_l)),
        ("feeder_refused", not starving and feeder.swapped and want_l < half_l),
    ):
        if holds:
            return code
    return ""


def _measured(book: Book, want_l: float, room: _Room) -> float:
    """A want to the step that crews measure: up where the feeder takes it, down where it does not."""
    step_l = 0.05 * L_PER_US_GAL if book.operation.units == "us" else 0.1
    most_l = min(room.now_l, room.eaten_l)
    stepped_l = round(ceil(want_l / step_l - 1e-9) * step_l, 3)
    if stepped_l <= most_l:
        return stepped_l
    if room.now_l <= room.eaten_l and room.now_l == room.empty_l:
        return room.now_l
    whole_l = floor(most_l / step_l + 1e-3) * step_l
    return min(most_l, whole_l) if whole_l > 0 else most_l


def _to_the_millilitre(volume_l: float, feeder: Feeder) -> float:
    """Down to the millilitre; a feeder filled from empty gets what it holds exactly."""
    return volume_l if volume_l == feeder.capacity_l else floor(volume_l * 1000 + 1e-6) / 1000
