"""Make the notes of a day that went by its plan: a note for every stop that nobody has reported."""

from __future__ import annotations

import uuid
from collections.abc import Iterator

from routing.domain.plan import Plan, Route, Stop
from routing.log.complete.complete import Known
from routing.log.events import Event, Fact
from routing.log.facts import Fed, Filled, Finished, Poured, Refilled, Rested, Started, TruckOut, Washed
from routing.log.fold.track import is_refill

AS_PLANNED = "as-planned"
"""What such a note was typed as; a later note of what a yard really got takes its place."""

NOT_DRIVEN = "not driven"

_SPACE = uuid.UUID("3f0a5d54-6b0e-5c59-9f0b-0c4c1d0f7a52")
"""The name space of these events: the same stop of the same plan always gets the same id."""


def driven_as_planned(known: Known, truck_id: str) -> tuple[Event, ...]:
    """A note for each stop of a truck that was not reported, at the time that the plan has for it.

    None for a truck without a route, or that broke down: nobody planned how its day ended.
    """
    route, of_rest = known.route_and_rest(truck_id)
    state = known.state.trucks[truck_id]
    if route is None or state.status in ("out", "finished"):
        return ()
    return tuple(
        Event(_id(route, stop.seq), known.state.day, stop.leave, fact, truck_id, said=AS_PLANNED)
        for stop, fact in _facts(known, route, of_rest=of_rest)
        if stop.seq not in state.done_seqs
    )


def never_driven(plan: Plan, truck_id: str) -> Event:
    """The note that a truck with a route in a plan did not go out."""
    route = next(route for route in plan.routes if route.truck_id == truck_id)
    return Event(
        _id(route, None), plan.date, route.start, TruckOut(NOT_DRIVEN), truck_id, said="not-driven"
    )  # fmt: skip


def _id(route: Route, seq: int | None) -> str:
    return str(uuid.uuid5(_SPACE, f"{route.start.isoformat()}|{route.truck_id}|{seq}"))


def _facts(known: Known, route: Route, *, of_rest: bool) -> Iterator[tuple[Stop, Fact]]:
    """What each stop of a route was; yards that were fed in full, skipped or closed are passed over."""
    for stop in route.stops:
        fills = _fills(known, stop)
        if is_refill(stop, of_rest):
            yield stop, Refilled(stop.place_id, fills, as_planned=True)
        elif stop.kind == "start" and not of_rest:
            yield stop, Started(stop.place_id, fills, as_planned=True)
        elif stop.kind == "yard":
            yard = known.state.yards.get(stop.place_id)
            if yard is None or not (yard.status in ("done", "skipped") or yard.closed):
                yield stop, Fed(stop.place_id, _pours(known, stop), as_planned=True)
        elif stop.kind == "wash":
            yield stop, Washed(stop.place_id)
        elif stop.kind == "break":
            yield stop, Rested(max(1, round((stop.leave - stop.begin).total_seconds())))
        elif stop.kind == "end":
            yield stop, Finished(stop.place_id)


def _fills(known: Known, stop: Stop) -> tuple[Filled, ...]:
    return tuple(
        Filled(f.syrup_id, f.volume_l, f.tank_id, f.pails, known.lot(f.syrup_id)) for f in stop.fill
    )  # fmt: skip


def _pours(known: Known, stop: Stop) -> tuple[Poured, ...]:
    return tuple(
        Poured(
            row.group,
            row.feeder_id,
            row.syrup_id,
            row.colonies,
            row.volume_l,
            row.tank_id,
            row.pails,
            known.lot(row.syrup_id),
        )
        for row in stop.pour
    )
