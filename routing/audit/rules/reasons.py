"""Rules on why a yard is left for want of trucks, hours, tanks or syrup: no such reason is surely untrue.

Whether a yard could have been fed beside all others is a search, not a rule. So each reason is held against
what a truck with nothing else to do could do: where it could surely feed what is left, the reason is untrue.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from routing.audit.evidence.book import Book
from routing.audit.evidence.lone_trip import Wanted, able_trucks, carries, hours_suffice, lone_cost, wanted
from routing.audit.evidence.stores import is_starving, worth_of_feeding, yard_days
from routing.audit.rules.rule import VOLUME_L, Breach, PlanRule
from routing.domain.clock import TimeWindow
from routing.domain.fleet import Truck
from routing.domain.places import Priority, Yard
from routing.domain.plan import Unserved


@dataclass(frozen=True)
class Case:
    """A yard that is left, with what is left for it and the trucks that may drive in."""

    book: Book
    left: Unserved
    yard: Yard
    wanted: Wanted
    trucks: tuple[Truck, ...]

    @property
    def fresh(self) -> tuple[Truck, ...]:
        """Trucks at the start of their day: nothing aboard or behind them stands in the way."""
        return tuple(truck for truck in self.trucks if truck.underway is None)


def no_truck_fits(case: Case) -> bool:
    """Some truck may drive in with all that is left."""
    return any(carries(case.book, truck, case.yard, case.wanted) for truck in case.fresh)


def no_tank_for_syrup(case: Case) -> bool:
    """Nothing is pumped there, or some truck has the tanks for it and may drive in with all that is left."""
    return not case.wanted.pumped or no_truck_fits(case)


def no_pail_slots(case: Case) -> bool:
    """No pails go there, or some truck has the slots for them and may drive in with all that is left."""
    return not case.wanted.pails or no_truck_fits(case)


def no_full_pails(case: Case) -> bool:
    """No pails go there."""
    return not case.wanted.pails


def stock_short(case: Case) -> bool:
    """Where every truck starts there is enough left of all that is wanted, from the beginning of the day."""
    starts = [case.book.operation.depots.get(truck.start_depot) for truck in case.fresh]
    return bool(starts) and all(
        depot is not None
        and not depot.windows
        and all(_in_stock(case.book, depot.depot_id, s, v) for s, v in case.wanted.by_syrup.items())
        for depot in starts
    )


def _in_stock(book: Book, depot_id: str, syrup_id: str, volume_l: float) -> bool:
    stock = book.operation.depots[depot_id].stock_of(syrup_id)
    if stock is None or stock.from_s:
        return False
    taken = sum(
        fill.volume_l
        for route in book.routes
        for halt in route.halts
        if halt.stop.place_id == depot_id
        for fill in halt.stop.fill
        if fill.syrup_id == syrup_id
    )
    return stock.on_hand_l is None or stock.on_hand_l - taken >= volume_l * MUCH_MORE


MUCH_MORE = 1.1
"""What is loaded on top (the margin) is wanted too."""


def out_of_hours(case: Case) -> bool:
    """Neither the yard nor a depot is ever shut in a shift."""
    return bool(case.fresh) and not case.wanted.late and all(_always_open(case, t) for t in case.fresh)


def _always_open(case: Case, truck: Truck) -> bool:
    op = case.book.operation
    depots = [op.depots[d] for d in (truck.start_depot, truck.end_depot) if d in op.depots]
    shift = op.shift_of(truck)
    return all(_covers(windows, shift) for windows in (case.yard.windows, *(d.windows for d in depots)))


def _covers(windows: tuple[TimeWindow, ...], shift: TimeWindow) -> bool:
    return not windows or any(w.start_s <= shift.start_s and w.end_s >= shift.end_s for w in windows)


def beyond_shift(case: Case) -> bool:
    """A truck with nothing else to do can load, go there, feed and be back."""
    return any(_alone(case, truck) for truck in case.fresh)


def _alone(case: Case, truck: Truck) -> bool:
    book, yard = case.book, case.yard
    return (
        _always_open(case, truck)
        and not case.wanted.late
        and carries(book, truck, yard, case.wanted)
        and hours_suffice(book, truck, yard, case.wanted)
    )


def unclean_truck(case: Case) -> bool:
    """Some truck that may drive in was nowhere of worse standing today."""
    return any(t.underway is None or t.underway.rank <= case.yard.health.rank for t in case.trucks)


def not_worth(case: Case) -> bool:
    """It must be fed whatever it costs, or a trip of its own would cost less than leaving the yard."""
    days = yard_days(case.book, case.left.yard_id)
    if _required(case):
        return True
    value = worth_of_feeding(case.book, case.left.yard_id, days or 0.0) * case.left.colonies
    able = [truck for truck in case.fresh if _alone(case, truck)]
    return any(lone_cost(case.book, truck, case.yard, case.wanted) <= value for truck in able)


def no_room(case: Case) -> bool:
    """Nobody there is starving, nobody called, and the keeper did not say that it must be fed."""
    return not _required(case)


def _required(case: Case) -> bool:
    now = case.book.now
    called = now is not None and case.left.yard_id in now.yards and now.yards[case.left.yard_id].urgent
    told = case.left.yard_id in case.book.plan.must or case.yard.priority is Priority.MUST
    told = told or bool(case.yard.called_in)
    return called or told or is_starving(case.book, case.left.yard_id)


SURELY_UNTRUE: Mapping[str, Callable[[Case], bool]] = {
    "no_truck_fits": no_truck_fits,
    "no_tank_for_syrup": no_tank_for_syrup,
    "no_pail_slots": no_pail_slots,
    "no_full_pails": no_full_pails,
    "stock_short": stock_short,
    "out_of_hours": out_of_hours,
    "beyond_shift": beyond_shift,
    "unclean_truck": unclean_truck,
    "not_worth": not_worth,
    "no_room": no_room,
}
"""By reason code, what makes it surely untrue. ``shift_full`` has nothing: it names no single cause."""

BY_AMOUNT = frozenset({*SURELY_UNTRUE, "shift_full"})
"""Reasons why syrup that is due is not brought: they come with the amount that is left."""


def reason_by_amount(book: Book) -> Iterator[Breach]:
    """What is due and not brought is left for want of something; what is not due has a reason of the bees."""
    for left in book.plan.unserved:
        if (left.volume_l > VOLUME_L) != (left.reason_code in BY_AMOUNT):
            text = f"{left.volume_l:.1f} L are left for the reason {left.reason_code}"
            yield Breach(text, None, left.yard_id)


def reason_refuted(book: Book) -> Iterator[Breach]:
    """No truck with nothing else to do could do what the reason says cannot be done."""
    for left in book.plan.unserved:
        yard, refuted = book.operation.yards.get(left.yard_id), SURELY_UNTRUE.get(left.reason_code)
        if yard is None or refuted is None:
            continue
        case = Case(book, left, yard, wanted(book, left), able_trucks(book, yard))
        if refuted(case):
            yield Breach(f"the reason {left.reason_code} does not hold", None, left.yard_id)


RULES = (
    PlanRule(
        "reason_by_amount",
        "Only syrup that is due is left for want of something.",
        reason_by_amount,
    ),
    PlanRule("reason_refuted", "No reason for leaving syrup is surely untrue.", reason_refuted),
)
