"""Close the day's book of one truck at a moment."""

from __future__ import annotations

from datetime import datetime, timedelta

from routing.domain.plan import Route
from routing.log.day import SILENT_S, TruckNow
from routing.log.fold.track import Track, late_now_s
from routing.log.fold.truck import TruckDay


def truck_now(
    truck: TruckDay, route: Route | None, found: Track | None, now: datetime, next_place: str | None
) -> TruckNow:
    """How a truck stands at ``now``, held against its route where it has one: ``next_place`` is next."""
    heading = found.heading if found else None
    going = truck.status not in ("finished", "out")
    toward = next_place if going else None
    ahead_s = truck.driving_now_s(next_place, now)
    origin, left, via = truck.way(toward, now)
    working = truck.status == "working"
    late_s = late_now_s(found, truck.place == toward, now) if found and working else None
    if found and truck.status == "finished":
        late_s = found.late_s
    return TruckNow(
        truck_id=truck.truck_id,
        status=truck.status,
        place=truck.place,
        place_at=truck.since,
        arrived=truck.arrived,
        underway=truck.underway and working,
        heading=toward,
        heading_seq=heading.seq if heading and toward else None,
        tanks=dict(truck.cargo.tanks),
        pails={syrup: row for syrup, row in truck.cargo.pails.items() if row.count},
        pails_empty=truck.cargo.pails_empty,
        started=truck.started,
        worked_s=truck.worked_s(now),
        driven_s=sum(drive.drive_s for drive in truck.drives) + ahead_s,
        rested_s=truck.rested_s,
        since_break_s=truck.since_break_s(now),
        driving_since_pause_s=truck.driving_since_pause_s(now, ahead_s),
        drive_estimated=bool(ahead_s) or any(not drive.reported for drive in truck.drives),
        hygiene_rank=truck.rank,
        done_seqs=found.done if found else (),
        late_s=late_s,
        out_words=truck.out_words,
        heard=truck.heard,
        silent=_silent(truck, route, found, now),
        origin=origin,
        left=left,
        via=via if working else None,
        pausing=bool(heading and toward and heading.kind == "break"),
        stranded=truck.stranded and truck.status in ("out", "working"),
    )


def _silent(truck: TruckDay, route: Route | None, found: Track | None, now: datetime) -> bool:
    """Whether the next report is long overdue: the plan's time for it, put off by the lateness reported."""
    if route is None or found is None or found.heading is None or truck.status in ("out", "finished"):
        return False
    # A truck that has not started reports first when it leaves its depot.
    stop = found.heading if truck.status == "working" else route.stops[0]
    due = stop.arrive if stop.kind == "end" else stop.leave
    due += timedelta(seconds=max(0, found.late_s or 0))
    return (now - max(due, truck.heard or due)).total_seconds() >= SILENT_S
