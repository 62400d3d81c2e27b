"""Decide what every yard is to be given on a date, and say why."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from routing.domain.clock import TimeWindow
from routing.domain.operation import Operation
from routing.domain.places import ColonyGroup, Priority, Yard
from routing.domain.ration import Dose, YardNeed
from routing.domain.settings import FeedingSettings
from routing.domain.supplies import FeederPosition, Syrup
from routing.domain.units import DAY_S
from routing.need.cautions import Feeding, outlook, yard_cautions
from routing.need.deficit import deficit_of, stores_kg_per_l
from routing.need.dose import Use, give, room_in
from routing.need.goal_date import goal_missed
from routing.need.on_hand import on_hand, yard_days_of_stores
from routing.need.refusal import (
    Refusal,
    first_reason,
    group_refusal,
    room_refusal,
    spills_under_robbing,
    yard_refusal,
)
from routing.need.sentence import Grounds, fed_clause, refused_clause, sentence
from routing.need.stores import (
    MOST_DAYS,
    is_starving,
    net_use_kg_per_day,
    use_kg_per_day,
)
from routing.need.syrup import resolve
from routing.need.wording import Wording


def need_of_day(operation: Operation, day: date) -> tuple[YardNeed, ...]:
    """What each yard is to be given on a date, in the order of the operation's yards.

    Densities are filled in first where they are not. Raises ``InputError`` for a syrup whose density
    cannot be had. Every yard comes out: with doses, or with a reason and a remedy.
    """
    known = resolve(operation)
    groups: dict[str, list[ColonyGroup]] = {yard_id: [] for yard_id in known.yards}
    for group in known.groups:
        groups.setdefault(group.yard_id, []).append(group)
    return tuple(_yard_need(yard, groups[yard.yard_id], known, day) for yard in known.yards.values())


def _yard_need(yard: Yard, groups: Sequence[ColonyGroup], operation: Operation, day: date) -> YardNeed:
    words = Wording(operation.units)
    refusal = yard_refusal(yard, groups, operation, day, words)
    if refusal is not None:
        return _nothing(yard, groups, operation, day, refusal, sentence([refusal.reason]))
    standing = [group for group in groups if group.colonies > 0]
    judged = [(group, _judge(group, yard, operation, day)) for group in standing]
    named = len(standing) > 1
    clauses = [
        refused_clause(group, found, named)
        if isinstance(found, Refusal)
        else fed_clause(found.grounds, operation.feeding, words, named)
        for group, found in judged
    ]
    fed = [found for _, found in judged if not isinstance(found, Refusal)]
    if not fed:
        first = first_reason([found for _, found in judged if isinstance(found, Refusal)])
        return _nothing(yard, groups, operation, day, first, sentence(clauses))
    return _something(yard, groups, operation, day, fed, sentence(clauses))


@dataclass(frozen=True)
class _Fed:
    """One group that is fed."""

    grounds: Grounds
    dose: Dose
    feeding: Feeding


def _judge(group: ColonyGroup, yard: Yard, operation: Operation, day: date) -> Refusal | _Fed:
    """The dose of one group, or why it gets none."""
    feeding = operation.feeding
    feeder, syrup = operation.feeders[group.feeder_id], operation.syrups[group.syrup_id]
    has = on_hand(group, operation, day)
    refusal = group_refusal(group, has, feeder, yard, operation, day)
    if refusal is not None:
        return refusal
    words = Wording(operation.units)
    deficit = deficit_of(group, has, feeding, syrup)
    want_l = deficit.litres - has.feeder_kg / stores_kg_per_l(syrup, feeding)
    room = room_in(group, has, feeder, syrup, yard, operation)
    starving = is_starving(has, group, feeding)
    refusal = room_refusal(
        deficit, want_l, room, group, has, feeder, feeding.min_dose_l, feeding.refill_below, starving, words
    )
    if refusal is not None:
        return refusal
    given = give(want_l, room, feeder, words.step_l, _use(group, feeding, syrup))
    grounds = Grounds(group, has, feeder, deficit, want_l, room, given)
    return _Fed(grounds, _dose(grounds, operation), _feeding(grounds, operation, day))


def _use(group: ColonyGroup, feeding: FeedingSettings, syrup: Syrup) -> Use:
    """What is eaten between rounds; a daily ration is none of it, for it is given whatever the stores."""
    if feeding.goal == "build":
        return Use(0.0, feeding.next_visit_days)
    net_kg = max(0.0, net_use_kg_per_day(group, feeding))
    return Use(net_kg / stores_kg_per_l(syrup, feeding), feeding.next_visit_days)


def _dose(grounds: Grounds, operation: Operation) -> Dose:
    group, feeder = grounds.group, grounds.feeder
    # A communal tub is one handling, shared by the colonies of its group.
    sharers = group.colonies if feeder.position is FeederPosition.COMMUNAL else 1
    clean_s = operation.work.clean_feeder_s if grounds.has.spoilt_l > 0 else 0.0
    return Dose(
        group=group.group,
        feeder_id=feeder.feeder_id,
        syrup_id=group.syrup_id,
        colonies=group.colonies,
        each_l=grounds.given.each_l,
        service_s=(feeder.service_s + clean_s) / sharers,
        swapped=feeder.swapped,
    )


def _feeding(grounds: Grounds, operation: Operation, day: date) -> Feeding:
    settings = operation.feeding
    syrup = operation.syrups[grounds.group.syrup_id]
    has = grounds.has
    after_kg = has.stores_kg + has.feeder_kg + grounds.given.each_l * stores_kg_per_l(syrup, settings)
    use = use_kg_per_day(grounds.group, settings)
    days_after = min(MOST_DAYS, after_kg / use) if use > 0 else MOST_DAYS
    late = goal_missed(grounds.given.pace, syrup, settings, day, Wording(operation.units))
    return Feeding(grounds.group, has, grounds.feeder, syrup, grounds.given, days_after, late)


def _something(
    yard: Yard, groups: Sequence[ColonyGroup], operation: Operation, day: date, fed: Sequence[_Fed], why: str
) -> YardNeed:
    settings = operation.feeding
    stores_days = yard_days_of_stores(groups, operation, day)
    late = any(spills_under_robbing(one.feeding.feeder, operation) for one in fed)
    return YardNeed(
        yard_id=yard.yard_id,
        colonies=sum(group.colonies for group in groups),
        doses=tuple(one.dose for one in fed),
        days_of_stores=stores_days,
        starving=stores_days < settings.starving_days,
        rounds_left=max(one.grounds.given.rounds_left for one in fed),
        next_visit_days=min(one.grounds.given.next_visit_days for one in fed),
        why=why,
        windows=(TimeWindow(settings.late_from_s, DAY_S),) if late else None,
        cautions=yard_cautions(yard, groups, [one.feeding for one in fed], operation, day),
        outlook=outlook([one.feeding for one in fed]),
        must=yard.priority is Priority.MUST or bool(yard.called_in),
    )


def _nothing(
    yard: Yard, groups: Sequence[ColonyGroup], operation: Operation, day: date, refusal: Refusal, why: str
) -> YardNeed:
    stores_days = yard_days_of_stores(groups, operation, day)
    return YardNeed(
        yard_id=yard.yard_id,
        colonies=sum(group.colonies for group in groups),
        doses=(),
        days_of_stores=stores_days,
        starving=stores_days < operation.feeding.starving_days,
        rounds_left=0,
        why=why,
        reason_code=refusal.code,
        reason=refusal.reason,
        remedy=refusal.remedy,
        cautions=yard_cautions(yard, groups, (), operation, day),
        must=yard.priority is Priority.MUST or bool(yard.called_in),
    )
