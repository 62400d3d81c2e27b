"""What each yard is to be given: the result of judging need, the input of planning."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from routing.domain.clock import TimeWindow


class ReasonCode(StrEnum):
    """Why a yard is not fed. Need gives the first part, planning the second."""

    STORES_ENOUGH = "stores_enough"
    SUPERS_ON = "supers_on"
    FLOW_ON = "flow_on"
    TOO_COLD = "too_cold"
    NO_COLONIES = "no_colonies"
    NO_INSPECTION = "no_inspection"
    CLOSED = "closed"
    FEEDER_REFUSED = "feeder_refused"
    FEEDER_FULL = "feeder_full"
    NO_PERMIT = "no_permit"
    SKIPPED = "skipped"

    OUT_OF_HOURS = "out_of_hours"
    NO_TRUCK_FITS = "no_truck_fits"
    NO_TANK_FOR_SYRUP = "no_tank_for_syrup"
    NO_PAIL_SLOTS = "no_pail_slots"
    NO_FULL_PAILS = "no_full_pails"
    STOCK_SHORT = "stock_short"
    SHIFT_FULL = "shift_full"
    NO_ROOM = "no_room"
    BEYOND_SHIFT = "beyond_shift"
    UNCLEAN_TRUCK = "unclean_truck"
    NOT_WORTH = "not_worth"


NOTHING_DUE = frozenset({ReasonCode.STORES_ENOUGH, ReasonCode.FEEDER_FULL, ReasonCode.NO_COLONIES})
"""Reasons that leave no work undone: such a yard needs nothing today, as against one that goes without."""


@dataclass(frozen=True)
class Dose:
    """Syrup for the like colonies of one group, in one kind of feeder.

    ``each_l`` goes to each of ``colonies``; a swapped feeder takes one full pail per colony, holding
    ``each_l``. ``service_s`` is person-seconds per colony. For communal tubs ``each_l`` is the colony's
    share.
    """

    group: str
    feeder_id: str
    syrup_id: str
    colonies: int
    each_l: float
    service_s: float
    swapped: bool = False

    @property
    def volume_l(self) -> float:
        """Syrup for all the colonies of the dose, to the millilitre."""
        return round(self.each_l * self.colonies, 3)

    @property
    def pails(self) -> int:
        """Full pails taken off the truck."""
        return self.colonies if self.swapped else 0


@dataclass(frozen=True)
class YardNeed:
    """One yard's need on one date.

    ``doses`` empty: nothing is to be given today, for ``reason_code``, ``reason``, ``remedy``.
    ``windows`` not None: feed only then (late in the day, under robbing), besides the gate hours.
    ``rounds_left`` feedings still to come after this one (999: never done at this pace);
    ``next_visit_days`` until the first feeder is empty or its syrup spoilt (0: none is filled). ``why``: one
    sentence on the number.
    ``starving`` yards must be served, ``urgent`` ones that were called in, and those that the keeper put
    down as a ``must``; one that has need but no dose (a refused feeder) keeps the flag.
    """

    yard_id: str
    colonies: int
    doses: tuple[Dose, ...]
    days_of_stores: float
    starving: bool
    rounds_left: int
    why: str
    windows: tuple[TimeWindow, ...] | None = None
    reason_code: ReasonCode | None = None
    reason: str = ""
    remedy: str = ""
    cautions: tuple[str, ...] = ()
    outlook: tuple[str, ...] = ()
    urgent: bool = False
    must: bool = False
    next_visit_days: float = 0.0

    @property
    def required(self) -> bool:
        """Whether leaving the yard is out of the question as long as any plan can serve it."""
        return self.starving or self.urgent or self.must

    @property
    def fed_colonies(self) -> int:
        """Colonies that get something today."""
        return sum(dose.colonies for dose in self.doses)

    @property
    def volume_l(self) -> float:
        """Syrup for the yard, all kinds together."""
        return round(sum(dose.volume_l for dose in self.doses), 3)

    @property
    def service_s(self) -> float:
        """Person-seconds at the hives, without the yard's set-up time."""
        return sum(dose.colonies * dose.service_s for dose in self.doses)
