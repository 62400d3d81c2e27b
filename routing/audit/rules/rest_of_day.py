"""Rules on where the rest of a day begins: trucks go on from where the day log knows them to be."""

from __future__ import annotations

from collections.abc import Iterator

from routing.audit.evidence.book import Replay
from routing.audit.rules.rule import Breach, RouteRule, differs
from routing.domain.travel import Travel
from routing.log.day import TruckNow

DEGREES = 1e-6


def goes_on_from(replay: Replay) -> Iterator[Breach]:
    """A truck goes on from where it was last heard of, or from where it drives to, once it can be there."""
    now, truck = replay.book.now, replay.truck
    state = now.trucks.get(truck.truck_id) if now else None
    if state is None or state.status != "working" or not replay.halts or not replay.halts[0].times:
        return
    halt, travel = replay.halts[0], replay.book.travel
    stop, begins_s = replay.halts[0].stop, replay.halts[0].times.arrive_s
    known = [key for key in _may_begin(state) if key in travel.places]
    at = [key for key in known if _lies_at(travel, key, stop.lat, stop.lon)]
    # What the files have forgotten since cannot be held against a plan.
    if not at and known:
        yield Breach(f"truck {truck.truck_id} goes on from {stop.place_id}, where it is not", halt)
    if not at or not state.underway or state.origin not in travel.places or state.left is None:
        return
    left_s = replay.book.seconds(state.left)
    drive_s = travel.leg(truck.truck_id, state.origin, at[0]).drive_s if at[0] != state.origin else 0
    if left_s is not None and begins_s < left_s + drive_s:
        soonest = replay.book.hhmm(left_s + drive_s)
        yield Breach(f"truck {truck.truck_id} cannot be at {stop.place_id} before {soonest}", halt)


def _may_begin(state: TruckNow) -> tuple[str, ...]:
    """Place keys that a truck may go on from: where it gets to next, else where it stands."""
    ahead = (state.via or state.heading) if state.underway else None
    return tuple(key for key in (ahead or state.place,) if key)


def _lies_at(travel: Travel, key: str, lat: float, lon: float) -> bool:
    own_lon, own_lat = travel.positions[travel.index(key)]
    return not differs(lat, own_lat, DEGREES) and not differs(lon, own_lon, DEGREES)


RULES = (
    RouteRule(
        "goes_on_from",
        "A truck in mid-day goes on from where the day log knows it to be, once it can be there.",
        goes_on_from,
    ),
)
