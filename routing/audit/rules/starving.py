"""Rules on the starving: days of stores rightly stated, nobody starving left who could be fed."""

from __future__ import annotations

from collections.abc import Iterator

from routing.audit.evidence.book import Book, Replay
from routing.audit.evidence.lone_trip import able_trucks
from routing.audit.evidence.stores import is_starving, yard_days
from routing.audit.rules.rule import Breach, PlanRule, RouteRule, differs
from routing.domain.fleet import Truck
from routing.domain.operation import place_key
from routing.domain.places import Priority, Yard
from routing.domain.plan import Unserved

DAYS = 0.051
"""Days of stores may be rounded to a tenth."""

FULL_DAY = ("shift_full", "not_worth")
NOTHING_TODAY = (
    "supers_on", "flow_on", "too_cold", "no_colonies", "no_inspection", "closed", "feeder_refused",
    "feeder_full", "no_permit",
)  # fmt: skip


def days_stated(book: Book) -> Iterator[Breach]:
    """Days of stores, and the mark of the starving, follow from the newest inspection."""
    for left in book.plan.unserved:
        own = yard_days(book, left.yard_id)
        if own is None:
            continue
        if differs(left.days_of_stores, own, DAYS):
            text = f"{left.days_of_stores:.1f} days of stores are stated; there are {own:.1f}"
            yield Breach(text, None, left.yard_id)
        if left.starving != is_starving(book, left.yard_id):
            text = f"starving is stated as {left.starving} with {own:.1f} days of stores"
            yield Breach(text, None, left.yard_id)


def starving_dropped(book: Book) -> Iterator[Breach]:
    """A starving yard is left only when it cannot be fed."""
    for left in book.plan.unserved:
        if left.yard_id not in book.operation.yards or not is_starving(book, left.yard_id):
            continue
        if not _may_be_left(book, left):
            yield Breach(f"a starving yard is left ({left.reason_code})", None, left.yard_id)


def _may_be_left(book: Book, left: Unserved) -> bool:
    if left.reason_code in NOTHING_TODAY and not left.volume_l > 0:
        return True
    if left.reason_code == "stores_enough":
        return False
    return left.reason_code not in FULL_DAY or none_to_spare(book, book.operation.yards[left.yard_id])


def none_to_spare(book: Book, yard: Yard) -> bool:
    """Whether every truck that could go to a yard and back in a shift feeds such as must be fed alone.

    Also true where no truck could, had it nothing else to do all day. A truck that stays at home could.
    """
    routes = {route.truck.truck_id: route for route in book.routes}
    able = [truck for truck in able_trucks(book, yard) if _there_and_back(book, truck, yard)]
    return all(t.truck_id in routes and _feeds_only_starving(routes[t.truck_id]) for t in able)


def _feeds_only_starving(replay: Replay) -> bool:
    return all(_must(replay.book, h.stop.place_id) for h in replay.halts if h.yard and h.stop.pour)


def _must(book: Book, yard_id: str) -> bool:
    """Whether a yard is to be fed before any other: starving, or by the keeper's word."""
    yard = book.operation.yards[yard_id]
    told = yard_id in book.plan.must or yard.priority is Priority.MUST or bool(yard.called_in)
    return told or is_starving(book, yard_id)


def _there_and_back(book: Book, truck: Truck, yard: Yard) -> bool:
    shift, window, key = (
        book.operation.shift,
        book.operation.shift_of(truck),
        place_key("yard", yard.yard_id),
    )
    try:
        out = book.travel.leg(truck.truck_id, place_key("depot", truck.start_depot), key).drive_s
        back = book.travel.leg(truck.truck_id, key, place_key("depot", truck.end_depot)).drive_s
    except KeyError:
        return False
    work_s, drive_s, starts = out + yard.setup_s + back, out + back, book.clock.elapsed_s(window.start_s)
    if (state := truck.underway) is not None:
        work_s, drive_s, starts = work_s + state.worked_s, drive_s + state.driven_s, max(starts, state.from_s)
    if work_s > shift.max_s + shift.overtime_s or drive_s > shift.max_driving_s:
        return False
    earliest = starts + out
    latest = book.clock.elapsed_s(window.end_s) - back - yard.setup_s
    stands_s = yard.setup_s if shift.leave_by_window else 0
    openings = book.clock.openings(yard.windows, earliest, max(earliest, latest))
    return any(max(opens, earliest) <= min(shuts - stands_s, latest) for opens, shuts in openings)


def starving_marked(replay: Replay) -> Iterator[Breach]:
    """A stop is marked as a starving yard if, and only if, its bees are starving."""
    for halt in replay.halts:
        starves = halt.stop.kind == "yard" and is_starving(replay.book, halt.stop.place_id)
        if halt.stop.starving != starves:
            wrong = "is not marked as a starving yard, which it is" if starves else "is marked as starving"
            yield Breach(f"the stop {wrong}", halt)


RULES = (
    PlanRule("days_stated", "Days of stores follow from the newest inspection.", days_stated),
    PlanRule("starving_dropped", "No starving yard is left that could be fed.", starving_dropped),
    RouteRule("starving_marked", "Stops are marked as starving where the bees are.", starving_marked),
)
