"""One plain sentence on why a ration is what it is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from routing.domain.places import ColonyGroup
from routing.domain.settings import FeedingSettings
from routing.domain.supplies import Feeder, FeederPosition
from routing.need.deficit import Deficit
from routing.need.dose import Given, Limit, Room
from routing.need.refusal import Refusal
from routing.need.rounds import MOST_ROUNDS
from routing.need.stores import OnHand, judged_kg
from routing.need.wording import Wording, count, days, short_date


@dataclass(frozen=True)
class Grounds:
    """All that a group's part of the sentence is made of."""

    group: ColonyGroup
    has: OnHand
    feeder: Feeder
    deficit: Deficit
    want_l: float
    room: Room
    given: Given


def sentence(clauses: Sequence[str]) -> str:
    """Clauses of a yard's groups as one sentence."""
    text = "; ".join(clauses)
    return f"{text[:1].upper()}{text[1:]}."


def fed_clause(grounds: Grounds, feeding: FeedingSettings, words: Wording, named: bool) -> str:
    """Why the colonies of one group get what they get."""
    parts = [
        f"{_prefix(grounds.group, named)}{_gap(grounds, feeding, words)}",
        _remedy(grounds, words),
        _today(grounds, words),
        _after(grounds, feeding),
    ]
    return "; ".join(part for part in parts if part)


def refused_clause(group: ColonyGroup, refusal: Refusal, named: bool) -> str:
    """Why the colonies of one group get nothing."""
    return f"{_prefix(group, named)}nothing today for {count(group.colonies, 'colony')}: {refusal.reason}"


def _prefix(group: ColonyGroup, named: bool) -> str:
    return f"{group.group}: " if named else ""


def _gap(grounds: Grounds, feeding: FeedingSettings, words: Wording) -> str:
    deficit, number = grounds.deficit, grounds.group.colonies
    colonies = count(number, "colony")
    hold = "holds" if number == 1 else "hold"
    if deficit.by_build_up:
        verb = "is" if number == 1 else "are"
        return (
            f"{colonies} {verb} to build up on {words.volume(feeding.build_l_per_day)} a day "
            f"for the {days(feeding.next_visit_days)} to the next visit"
        )
    kept = words.weight(deficit.wanted_kg - deficit.use_kg)
    goal = "wanted" if feeding.goal == "winter" else f"that {days(feeding.reserve_days)} in reserve take"
    use = ""
    if deficit.use_kg > 0:
        use = f" and use {words.weight(deficit.use_kg)} by the next visit"
    elif deficit.use_kg < 0:
        use = f", of which the flow brings {words.weight(-deficit.use_kg)} by the next visit"
    held = f"{words.weight(deficit.stores_kg)} each{_since(grounds, feeding, words)}"
    return f"{colonies} {hold} {held} of the {kept} {goal}{use}"


def _since(grounds: Grounds, feeding: FeedingSettings, words: Wording) -> str:
    """What was found at the inspection and fed since, where anything was."""
    group = grounds.group
    if not group.fed:
        return ""
    totals: dict[date, float] = {}
    for fed in group.fed:
        totals[fed.at.date()] = totals.get(fed.at.date(), 0.0) + fed.each_l * group.colonies
    found = words.weight(max(0.0, judged_kg(group.stores, feeding)))
    parts = [f"{found} at the inspection of {short_date(group.date)}"]
    parts += [f"{words.total(total_l)} fed on {short_date(day)}" for day, total_l in totals.items()]
    if grounds.has.feeder_l > 0:
        parts.append(f"{words.total(grounds.has.feeder_l * group.colonies)} of it still in feeders")
    return f" ({', '.join(parts)})"


def _remedy(grounds: Grounds, words: Wording) -> str:
    has = grounds.has
    left = f", {words.volume(has.feeder_l)} of it still in the feeder" if has.feeder_l > 0 else ""
    left += (
        f", {words.volume(has.spoilt_l)} spoilt in the feeder is tipped out first" if has.spoilt_l > 0 else ""
    )
    verb = "is that ration" if grounds.deficit.by_build_up else "would close it"
    return f"{words.volume(grounds.deficit.litres)} of {grounds.group.syrup_id} each {verb}{left}"


def _today(grounds: Grounds, words: Wording) -> str:
    given, name = grounds.given, grounds.feeder.feeder_id
    amount = words.volume(given.each_l)
    if given.limit is Limit.PAIL:
        full = "full " if given.each_l == grounds.feeder.capacity_l else ""
        return f"one {full}{name} with {amount} goes on each"
    if given.limit is Limit.SPOILS:
        return f"only {amount} is taken in the {days(grounds.room.keeps_days)} it keeps"
    if given.limit is Limit.FEEDER:
        share = " a colony" if grounds.feeder.position is FeederPosition.COMMUNAL else ""
        return f"the {name} takes {amount}{share} now"
    return f"{amount} is given now"


def _after(grounds: Grounds, feeding: FeedingSettings) -> str:
    parts = []
    lasts = grounds.given.lasts_days
    if lasts <= 60:
        parts.append(f"feeder empty in about {days(lasts)}{_due(grounds, feeding)}")
    if grounds.given.rounds_left >= MOST_ROUNDS:
        parts.append("with this feeder the goal is never met")
    elif grounds.given.rounds_left:
        parts.append(f"{count(grounds.given.rounds_left, 'more round')} to come")
    return ", ".join(parts)


def _due(grounds: Grounds, feeding: FeedingSettings) -> str:
    """When to come again, where that is sooner than visits are planned."""
    given = grounds.given
    if not given.rounds_left or given.next_visit_days >= feeding.next_visit_days:
        return ""
    if given.next_visit_days >= given.lasts_days:
        return f" (come then, not in {days(feeding.next_visit_days)})"
    return f", its syrup spoilt in {days(given.next_visit_days)} (come then)"
