"""Judge what the full pails of a truck in mid-day hold, count and litres."""

from __future__ import annotations

from routing.domain.fleet import PailLoad
from routing.domain.plan import Plan
from routing.log.day import PailsNow, TruckNow

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
    pours = [
        (stop.seq, pour.pails, pour.volume_l)
        for stop in (route.stops if route else ())
        for pour in stop.pour
        if pour.tank_id is None and pour.syrup_id == syrup_id and pour.pails
    ]
    # What comes next first; where the plan gives fewer pails than are aboard, the others are like these.
    coming = [pour for pour in pours if state.heading_seq is not None and pour[0] >= state.heading_seq]
    count, litres = 0, 0.0
    for _, pails, volume_l in coming or pours:
        taken = min(held.count - count, pails)
        count, litres = count + taken, litres + taken * volume_l / pails
    if not count:
        return held.volume_l
    litres *= held.count / count
    return round(litres, 3) if abs(litres - held.volume_l) <= BOOK_SLACK * litres else held.volume_l
