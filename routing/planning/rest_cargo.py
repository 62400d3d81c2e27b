"""Judge what the full pails of a truck in mid-day hold, count and litres."""

from __future__ import annotations

from routing.domain.day import PailsNow, TruckNow
from routing.domain.fleet import PailLoad
from routing.domain.plan import Plan

BOOK_SLACK = 0.25
"""Pails within this share of what the plan filled hold what the plan filled (a choice): counts are sure,
litres are noted by guess."""


def pails_aboard(state: TruckNow, before: Plan | None) -> tuple[PailLoad, ...]:
    """The full pails of a truck. A pail was filled for the plan, whatever the log's litres say."""
    return tuple(
        PailLoad(syrup_id, held.count, _litres(state, before, syrup_id, held))
        for syrup_id, held in state.pails.items()
        if held.count
    )


def _litres(state: TruckNow, before: Plan | None, syrup_id: str, held: PailsNow) -> float:
    """Litres of the next pails that the plan gives; by the log where it tells otherwise."""
    route = next((r for r in before.routes if r.truck_id == state.truck_id), None) if before else None
    count, litres = held.count, 0.0
    for stop in route.stops if route and state.heading_seq is not None else ():
        if stop.seq < (state.heading_seq or 0):
            continue
        for pour in stop.pour:
            if pour.tank_id is None and pour.syrup_id == syrup_id and pour.pails:
                taken = min(count, pour.pails)
                count -= taken
                litres += taken * pour.volume_l / pour.pails
    if count == held.count:
        return held.volume_l
    litres *= held.count / (held.count - count)
    return round(litres, 3) if abs(litres - held.volume_l) <= BOOK_SLACK * held.volume_l else held.volume_l
