"""Why a yard or a group of colonies gets nothing today, and what would have to change."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from routing.domain.operation import Operation
from routing.domain.places import ColonyGroup, Foulbrood, Health, Yard
from routing.domain.ration import ReasonCode
from routing.domain.supplies import Feeder, FeederPosition, Risk
from routing.need.air.temperature import temperature_of
from routing.need.deficit import Deficit, flow_suffices
from routing.need.dose import PAIL_SHARE, Room, pail_is_due
from routing.need.stores import OnHand, days_since_inspection
from routing.need.wording import Wording, days


@dataclass(frozen=True)
class Refusal:
    """A reason code, the reason in words, and a remedy that a person can act on."""

    code: ReasonCode
    reason: str
    remedy: str


# Of several reasons in one yard, the one a person can do most about is named.
_ORDER = (
    ReasonCode.FEEDER_REFUSED,
    ReasonCode.TOO_COLD,
    ReasonCode.FEEDER_FULL,
    ReasonCode.NO_INSPECTION,
    ReasonCode.FLOW_ON,
    ReasonCode.STORES_ENOUGH,
    ReasonCode.NO_COLONIES,
)

LEAST_L = 0.001
"""Doses are given to the millilitre: less is nothing."""

NO_LIQUID = "give no liquid feed; comb honey or dry feed in contact with the cluster where they starve"


def first_reason(refusals: Sequence[Refusal]) -> Refusal:
    """The refusal that speaks for a yard of which no group is fed."""
    return min(refusals, key=lambda refusal: _ORDER.index(refusal.code))


def communal_is_allowed(yard: Yard, operation: Operation) -> bool:
    """Open tubs: only by setting, without robbing, and where no disease flag stands."""
    feeding = operation.feeding
    return feeding.communal and feeding.robbing == "low" and yard.health is Health.CLEAN


def spills_under_robbing(feeder: Feeder, operation: Operation) -> bool:
    """Whether a feeder drips while robbing is high."""
    return feeder.spills is Risk.HIGH and operation.feeding.robbing == "high"


def yard_refusal(
    yard: Yard, groups: Sequence[ColonyGroup], operation: Operation, day: date, words: Wording
) -> Refusal | None:
    """What forbids feeding a whole yard on a date, or None."""
    return (
        _nobody_home(groups)
        or _foulbrood(yard)
        or _quarantine(yard, operation)
        or _closed(yard, day)
        or _supers(yard)
        or _cold(yard, operation, words)
    )


def _nobody_home(groups: Sequence[ColonyGroup]) -> Refusal | None:
    if not groups:
        return Refusal(
            ReasonCode.NO_INSPECTION,
            "no inspection of this yard is on record",
            "inspect it and add a row to colonies.csv",
        )
    if any(group.colonies > 0 for group in groups):
        return None
    return Refusal(
        ReasonCode.NO_COLONIES, "no colonies stand here", "correct colonies.csv if bees stand here"
    )


def _foulbrood(yard: Yard) -> Refusal | None:
    """Foulbrood is notifiable: nobody goes in without leave, and that leave is typed."""
    if yard.foulbrood is Foulbrood.NO or yard.permit.strip():
        return None
    return Refusal(
        ReasonCode.NO_PERMIT,
        f"foulbrood is {yard.foulbrood.value} there and no permit to enter is on record",
        "report it to the bee inspector where that is not done; with leave in writing, type it under permit "
        "in yards.csv",
    )


def _quarantine(yard: Yard, operation: Operation) -> Refusal | None:
    if yard.health is not Health.QUARANTINE or operation.work.quarantine_permit:
        return None
    return Refusal(
        ReasonCode.NO_PERMIT,
        "the yard is quarantined and no permit to enter it is confirmed",
        "ask the bee inspector; with a permit set quarantine_permit = true under [work]",
    )


def _closed(yard: Yard, day: date) -> Refusal | None:
    if yard.from_date is not None and day < yard.from_date:
        reason = f"the yard opens on {yard.from_date}"
    elif yard.until_date is not None and day > yard.until_date:
        reason = f"the yard closed after {yard.until_date}"
    else:
        return None
    return Refusal(ReasonCode.CLOSED, reason, "plan another date, or correct from_date and until_date")


def _supers(yard: Yard) -> Refusal | None:
    if not yard.supers_on:
        return None
    return Refusal(
        ReasonCode.SUPERS_ON,
        "honey supers are on: syrup would end in the honey",
        "take the supers off first, then set supers_on to no",
    )


def _cold(yard: Yard, operation: Operation, words: Wording) -> Refusal | None:
    temperature, least = temperature_of(yard, operation), operation.feeding.min_feed_c
    if temperature >= least:
        return None
    return Refusal(
        ReasonCode.TOO_COLD,
        f"{words.temperature(temperature)} by day, no syrup is given under {words.temperature(least)}",
        f"wait for a warmer spell; until then {NO_LIQUID}",
    )


def group_refusal(
    group: ColonyGroup, has: OnHand, feeder: Feeder, yard: Yard, operation: Operation, day: date
) -> Refusal | None:
    """What forbids feeding a group before its need is asked for, or None."""
    feeding = operation.feeding
    age = days_since_inspection(group, day)
    if group.strength_frames <= 0:
        return Refusal(
            ReasonCode.FEEDER_REFUSED,
            "no frames of bees were counted: nobody is there to take syrup",
            "look for dead-outs and correct colonies and strength_frames",
        )
    if age > feeding.stale_days:
        return Refusal(
            ReasonCode.NO_INSPECTION,
            f"last inspected {days(age)} ago, on {group.date}",
            "inspect it again and add the row to colonies.csv",
        )
    if flow_suffices(group, has, feeding, day):
        return Refusal(
            ReasonCode.FLOW_ON,
            "the nectar flow brings what is wanted in time",
            "look again when the flow ends",
        )
    return _feeder_refusal(feeder, yard, operation)


def _feeder_refusal(feeder: Feeder, yard: Yard, operation: Operation) -> Refusal | None:
    name = feeder.feeder_id
    if feeder.position is FeederPosition.COMMUNAL and not communal_is_allowed(yard, operation):
        feeding = operation.feeding
        why = "robbing is high" if feeding.robbing == "high" else f"the yard is under {yard.health.value}"
        if not feeding.communal:
            why = "this operation allows no open tubs"
        return Refusal(
            ReasonCode.FEEDER_REFUSED,
            f"{name} is an open tub and {why}",
            "put a feeder on each hive: open tubs feed robbers and spread disease",
        )
    if spills_under_robbing(feeder, operation) and operation.feeding.spill_prone == "never":
        return Refusal(
            ReasonCode.FEEDER_REFUSED,
            f"{name} drips and robbing is high",
            'use a closed feeder, or allow late feeding with spill_prone = "late" under [feeding]',
        )
    return None


def room_refusal(
    deficit: Deficit, want_l: float, room: Room, group: ColonyGroup, has: OnHand, feeder: Feeder,
    least_l: float, refill_below: float, starving: bool, words: Wording,
) -> Refusal | None:  # fmt: skip
    """What stands against a dose once want and room are known, or None."""
    if want_l < least_l <= deficit.litres:
        return _full(feeder, deficit.litres - want_l, words, " a colony, which covers the need")
    if want_l < least_l:
        return _enough(deficit, want_l, words)
    if room.empty_l < least_l:
        return Refusal(
            ReasonCode.FEEDER_REFUSED,
            f"{feeder.feeder_id} holds {words.volume(room.empty_l)} a colony here, too little to be worth it",
            "use a larger feeder, or level the hives",
        )
    full_l = has.feeder_l if not starving or feeder.swapped else 0.0
    if room.now_l < least_l or (has.feeder_l > 0 and full_l >= refill_below * room.empty_l):
        return _full(feeder, has.feeder_l, words)
    if room.taken_l < LEAST_L:
        reason = f"at this temperature bees do not take syrup from {feeder.feeder_id}"
        return Refusal(ReasonCode.FEEDER_REFUSED, reason, f"use a feeder in the hive, or {NO_LIQUID}")
    if not starving and room.taken_l < (PAIL_SHARE * room.now_l if feeder.swapped else least_l):
        return Refusal(
            ReasonCode.FEEDER_REFUSED,
            f"this few bees take only {words.volume(room.taken_l)} of {group.syrup_id} from "
            f"{feeder.feeder_id} in the {days(room.keeps_days)} it keeps",
            "unite them, or give less in a smaller feeder or a syrup that keeps longer",
        )
    if feeder.swapped and not starving and not pail_is_due(want_l, room):
        return Refusal(
            ReasonCode.FEEDER_REFUSED,
            f"{words.volume(want_l)} would do, less than half of {feeder.feeder_id}",
            "wait until half a pail is needed, or give a smaller feeder",
        )
    return None


def _enough(deficit: Deficit, want_l: float, words: Wording) -> Refusal:
    have, wanted = words.weight(deficit.stores_kg), words.weight(deficit.wanted_kg)
    if deficit.litres <= 0:
        reason = f"{have} of stores a colony, {wanted} wanted"
    else:
        reason = f"only {words.volume(want_l)} a colony is lacking, less than is worth a visit"
    lever = words.key("target_stores_kg") + ", reserve_days or " + words.rate_key("build")
    return Refusal(
        ReasonCode.STORES_ENOUGH, reason, f"look again next visit, or raise {lever} under [feeding]"
    )


def _full(feeder: Feeder, left_l: float, words: Wording, more: str = "") -> Refusal:
    return Refusal(
        ReasonCode.FEEDER_FULL,
        f"{feeder.feeder_id} still has {words.volume(left_l)} in it{more}",
        "come again when it is nearly empty; if it is not going down, look for a sick or queenless colony",
    )
