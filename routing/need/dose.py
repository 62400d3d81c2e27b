"""What one colony of a group gets today: the want, capped by the feeder and by what keeps."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from math import ceil, floor

from routing.domain.operation import Operation
from routing.domain.places import ColonyGroup, Yard
from routing.domain.supplies import Feeder, FeederPosition, Syrup
from routing.need.air.temperature import temperature_of
from routing.need.keeping import keeping_days_in_feeder
from routing.need.rounds import Pace, rounds_at
from routing.need.stores import OnHand
from routing.need.uptake import days_to_empty, uptake_l_per_day

PAIL_SHARE = 0.5
"""A choice: a pail is swapped when it is less than half full and at least half of a new one is needed."""


class Limit(StrEnum):
    """What set the size of a dose."""

    NEED = "need"
    FEEDER = "feeder"
    SPOILS = "spoils"
    PAIL = "pail"


@dataclass(frozen=True)
class Room:
    """What a feeder can take: ``empty_l`` when empty, ``now_l`` today, ``taken_l`` before it spoils.

    Bees take ``rate_l_per_day``; ``left_l`` is good syrup in it now. All per colony.
    """

    empty_l: float
    now_l: float
    taken_l: float
    keeps_days: float
    rate_l_per_day: float
    left_l: float = 0.0


@dataclass(frozen=True)
class Use:
    """What a colony eats beyond a flow, as litres of its syrup a day, and the days between visits."""

    l_per_day: float
    next_visit_days: float


@dataclass(frozen=True)
class Given:
    """A dose per colony in litres (0: nothing), what limited it, and what follows from it.

    ``lasts_days`` until the feeder is empty, with what was in it; ``pace`` of the rounds still to come.
    """

    each_l: float
    limit: Limit
    lasts_days: float
    pace: Pace
    spoils: bool = False

    @property
    def rounds_left(self) -> int:
        """Further rounds until nothing is left to want, as visits are planned."""
        return rounds_at(self.pace, self.pace.interval_days)

    @property
    def next_visit_days(self) -> float:
        """Days to the next visit: when the feeder is empty or its syrup spoilt, whichever is first."""
        return self.pace.due_days


def room_in(
    group: ColonyGroup, has: OnHand, feeder: Feeder, syrup: Syrup, yard: Yard, operation: Operation
) -> Room:
    """What the feeder of one colony can take.

    Capacity, less the share lost on a yard that is not level, less the good syrup still in it (what is
    left in a pail that is swapped is poured into the new one, filled that much less; what is past its keeping
    time is tipped out). A communal tub is shared by the colonies of its group.
    """
    sharers = group.colonies if feeder.position is FeederPosition.COMMUNAL else 1
    tilt = 0.0 if yard.level else feeder.tilt_derate
    empty = feeder.capacity_l * (1 - tilt)
    now = max(0.0, empty - has.feeder_l * sharers)
    air_c = temperature_of(yard, operation)
    keeps = keeping_days_in_feeder(syrup, feeder.position, air_c, operation.keeping)
    rate = uptake_l_per_day(group.strength_frames, feeder.position, air_c, operation.uptake)
    return Room(empty / sharers, now / sharers, rate * keeps, keeps, rate, has.feeder_l)


def give(want_l: float, room: Room, feeder: Feeder, step_l: float, use: Use) -> Given:
    """The dose of one colony that wants ``want_l`` more than is in its feeder.

    A crew measures to ``step_l``; ``use`` says what is eaten between visits.
    """
    each, limit = (room.now_l, Limit.PAIL) if feeder.swapped else _poured(want_l, room, step_l)
    if each != feeder.capacity_l:
        each = floor(each * 1000 + 1e-6) / 1000
    lasts = days_to_empty(each + room.left_l, room.rate_l_per_day)
    left_l = want_l - each
    pace = Pace(
        # What is left of a want after rounding to the step is no reason to come again.
        left_l=left_l if left_l > step_l else 0.0,
        per_round_l=room.empty_l if feeder.swapped else min(room.empty_l, room.taken_l),
        use_l_per_day=use.l_per_day,
        planned_days=use.next_visit_days,
        due_days=max(1.0, min(lasts, room.keeps_days)),
        uptake_l_per_day=room.rate_l_per_day,
    )
    return Given(each, limit, lasts, pace, spoils=each > room.taken_l + 1e-9)


def _poured(want_l: float, room: Room, step_l: float) -> tuple[float, Limit]:
    """Up to a step when the want is met, down to a step when capped, to the brim exactly."""
    cap = min(room.now_l, room.taken_l)
    wanted = round(ceil(want_l / step_l - 1e-9) * step_l, 3)
    if wanted <= cap:
        return wanted, Limit.NEED
    if room.now_l <= room.taken_l and room.now_l == room.empty_l:
        return room.now_l, Limit.FEEDER
    limit = Limit.FEEDER if room.now_l <= room.taken_l else Limit.SPOILS
    # Capacities come rounded from other units: a hair under a whole step is that step.
    whole = floor(cap / step_l + 1e-3) * step_l
    return (min(cap, whole) if whole > 0 else cap), limit


def pail_is_due(want_l: float, room: Room) -> bool:
    """Whether the want is worth a whole pail, which cannot be given in part."""
    return want_l >= PAIL_SHARE * room.now_l
