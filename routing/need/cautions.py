"""Cautions that go with a yard's ration: they stand where the decision is made.

No caution names a drug, a dose of one, or a legal clearance.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from routing.domain.operation import Operation
from routing.domain.places import ColonyGroup, Foulbrood, Health, Yard
from routing.domain.supplies import Feeder, FeederPosition, Risk, Syrup, SyrupKind
from routing.need.air.temperature import temperature_of
from routing.need.dose import Given, Limit
from routing.need.keeping import (
    COLD_PUMPING_C,
    HOT_C,
    VERY_HOT_C,
    may_crystallise,
    thickening_factor,
)
from routing.need.on_hand import on_hand
from routing.need.refusal import spills_under_robbing
from routing.need.rounds import MOST_ROUNDS
from routing.need.stores import OnHand, days_since_inspection
from routing.need.syrup import density_is_estimated
from routing.need.wording import Wording, days

OLD_INSPECTION_DAYS = 21
"""Estimate: stores worked forward for longer than this are a guess."""

WEAK_FRAMES, STRONG_FRAMES = 4.0, 8.0
"""Estimate: pollination contracts ask for an average of 8 frames of bees."""

THIN_SOLIDS = 0.60
MANY_ROUNDS = 8


@dataclass(frozen=True)
class Feeding:
    """One group that is fed: what with, how much, and whether it lasts to the next visit."""

    group: ColonyGroup
    has: OnHand
    feeder: Feeder
    syrup: Syrup
    given: Given
    days_after: float
    goal_missed: str = ""


def yard_cautions(
    yard: Yard,
    groups: Sequence[ColonyGroup],
    feedings: Sequence[Feeding],
    operation: Operation,
    day: date,
) -> tuple[str, ...]:
    """Everything to be careful about in a yard on a date, each said once, most grave first."""
    words = Wording(operation.units)
    found = [
        *_called(yard),
        *_disease(yard),
        *_inspections(groups, operation, day),
        *_spoilt(groups, operation, day),
    ]
    if feedings:
        found += _robbing(feedings, operation)
        found += _season(yard, feedings, operation, day)
    for feeding in feedings:
        found += _feeder(feeding)
        found += _colony(feeding, operation)
        found += _syrup(feeding.syrup, temperature_of(yard, operation), words)
    return tuple(dict.fromkeys(found))


def outlook(feedings: Sequence[Feeding]) -> tuple[str, ...]:
    """What the office must know of the rounds still to come; nothing that a crew can change today."""
    found: list[str] = []
    for feeding in feedings:
        group, rounds, name = feeding.group.group, feeding.given.rounds_left, feeding.feeder.feeder_id
        if rounds >= MOST_ROUNDS:
            found.append(f"{group}: {name} brings less than is eaten between visits: the target is never met")
        elif rounds >= MANY_ROUNDS:
            found.append(f"{group}: {rounds} more rounds with {name}; a larger feeder needs fewer")
        if feeding.goal_missed:
            found.append(f"{group}: {feeding.goal_missed}")
    return tuple(dict.fromkeys(found))


def _called(yard: Yard) -> Iterator[str]:
    if yard.called_in:
        yield f"URGENT: {yard.called_in}" + ("" if yard.called_in == "called in" else " (called in)")


def _disease(yard: Yard) -> Iterator[str]:
    if yard.health is Health.CLEAN:
        return
    yield (f"health {yard.health.value}: ask your vet before treating; this feed is unmedicated")
    if yard.health is Health.QUARANTINE:
        yield "quarantined: no pail, feeder or comb leaves the yard; wash gloves, tools and hose afterwards"
    if yard.foulbrood is not Foulbrood.NO:
        yield (
            f"foulbrood {yard.foulbrood.value}: go by the permit ({yard.permit or 'none on record'}) alone; "
            "ask the inspector whether left-over syrup and gear may leave the yard"
        )


def _inspections(groups: Sequence[ColonyGroup], operation: Operation, day: date) -> Iterator[str]:
    for group in groups:
        if group.colonies == 0:
            continue
        age = days_since_inspection(group, day)
        if OLD_INSPECTION_DAYS < age <= operation.feeding.stale_days:
            yield f"stores of {group.group} were judged {days(age)} ago: heft a few hives before pouring"
        if group.date > day:
            yield f"stores of {group.group} are dated {group.date}, after this date: taken as they stand"


def _spoilt(groups: Sequence[ColonyGroup], operation: Operation, day: date) -> Iterator[str]:
    """Syrup past its keeping time is discarded before new is given (COLOSS BEEBOOK 7.2.1)."""
    words = Wording(operation.units)
    for group in groups:
        has = on_hand(group, operation, day) if group.colonies else None
        if has is not None and has.spoilt_l > 0:
            tub = operation.feeders[group.feeder_id].position is FeederPosition.COMMUNAL
            spoilt_l = has.spoilt_l * (group.colonies if tub else 1)
            yield (
                f"{group.group}: about {words.volume(spoilt_l)} in each {group.feeder_id} is past the "
                f"{days(has.keeps_days)} it keeps: tip it out away from the hives and clean the feeder; "
                "never top it up"
            )


def _robbing(feedings: Sequence[Feeding], operation: Operation) -> Iterator[str]:
    if operation.feeding.robbing != "high":
        return
    if any(_lets_smell_out(f.feeder) for f in feedings):
        yield "robbing is high: spill nothing, reduce entrances, leave no syrup in the open"
    strengths = [f.group.strength_frames for f in feedings]
    if min(strengths) < WEAK_FRAMES and max(strengths) >= STRONG_FRAMES:
        yield "weak colonies stand beside strong ones: feed the strong first and close the weak down"
    for feeding in feedings:
        if spills_under_robbing(feeding.feeder, operation):
            yield f"{feeding.feeder.feeder_id} drips: it is filled late in the day only"
        elif feeding.feeder.robbing is Risk.HIGH:
            yield (
                f"{feeding.feeder.feeder_id} draws robbers: reduce entrances to one bee's width before you "
                "fill it, and wipe up every drop; late in the day is best"
            )


def _lets_smell_out(feeder: Feeder) -> bool:
    return feeder.opens_hive or feeder.meets_bees or feeder.robbing is not Risk.LOW


def _season(yard: Yard, feedings: Sequence[Feeding], operation: Operation, day: date) -> Iterator[str]:
    goal = operation.feeding.goal
    thin = [f.syrup.syrup_id for f in feedings if f.syrup.solids < THIN_SOLIDS]
    thick = [f.syrup.syrup_id for f in feedings if f.syrup.solids > THIN_SOLIDS + 0.02]
    if goal == "winter" and thin:
        yield f"{thin[0]} is thin for winter stores: the bees must dry it, and it ferments sooner"
    if goal == "build" and thick:
        yield f"{thick[0]} is thick for building up: 1:1 by weight is usual (common practice)"
    # USDA ARS Production Research Report 169 (1977): northern tier and southern Canada.
    if goal == "winter" and yard.position.lat >= 42 and (day.month, day.day) > (10, 15):
        yield "past mid-October this far north: winter feed should be down already, it may stay unripe"


def _feeder(feeding: Feeding) -> Iterator[str]:
    feeder = feeding.feeder
    if feeder.position is FeederPosition.COMMUNAL:
        yield (
            f"{feeder.feeder_id} is open: strong colonies and the neighbours' take most, and disease travels"
        )
    if feeder.position is FeederPosition.FRAME and not feeder.level_visible:
        yield f"the level in {feeder.feeder_id} is not seen until the lid is off: look before you pour"
    if feeder.drowning is Risk.HIGH:
        yield f"bees drown in {feeder.feeder_id}: see that every one has its ladder or float"
    if feeder.swapped and feeding.has.feeder_l > 0:
        yield f"pour what is left in each {feeder.feeder_id} into the new one, which is filled that much less"


def _colony(feeding: Feeding, operation: Operation) -> Iterator[str]:
    group, given = feeding.group, feeding.given
    if group.strength_frames < WEAK_FRAMES and feeding.feeder.position is FeederPosition.TOP:
        yield f"{group.group}: few bees under a hive-top feeder let the syrup chill and spoil; look sooner"
    if given.limit is Limit.SPOILS:
        yield f"{group.group}: so few bees take little before the syrup spoils; do not give more at once"
    if given.limit is Limit.PAIL and given.spoils:
        yield f"{group.group}: the pail may spoil before it is empty; look at it and take the rest away"
    if feeding.days_after < operation.feeding.next_visit_days:
        yield (
            f"{group.group}: stores and this feed last {days(feeding.days_after)}; "
            f"the next visit is due in {days(operation.feeding.next_visit_days)}: come sooner"
        )


def _syrup(syrup: Syrup, air_c: float, words: Wording) -> Iterator[str]:
    temperature = air_c if syrup.temperature_c is None else syrup.temperature_c
    name, said = syrup.syrup_id, words.temperature(temperature)
    coldest = min(temperature, air_c)
    if density_is_estimated(syrup):
        yield f"the weight of {name} is estimated within 0.5 %: give density from its label"
    if may_crystallise(syrup, coldest):
        yield f"{name} may crystallise at {words.temperature(coldest)}: watch gun and strainer"
    if coldest < COLD_PUMPING_C:
        thick = ""
        if syrup.kind is SyrupKind.SUCROSE:
            thick = f", {thickening_factor(syrup.solids, coldest):.1f} times as thick as at 20 C"
        yield f"{name} is cold ({words.temperature(coldest)}{thick}): it pumps slowly"
    if temperature > VERY_HOT_C:
        yield f"{name} is at {said}: HMF, which harms bees, rises fast above {words.temperature(VERY_HOT_C)}"
    elif temperature > HOT_C:
        yield f"{name} is at {said}: HMF builds up in warm syrup; shade the tank, use the oldest first"
