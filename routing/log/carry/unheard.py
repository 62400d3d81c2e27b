"""Find days whose plan was noted as the one that is driven, and of which nothing was noted since."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime

from routing.domain.plan import Plan
from routing.log.events import Event
from routing.log.facts import Planned


@dataclass(frozen=True)
class Unheard:
    """A day with trucks that had a route and of which no note was made."""

    plan: Plan
    truck_ids: tuple[str, ...]

    @property
    def whole(self) -> bool:
        """Whether it is every truck of the plan."""
        return len(self.truck_ids) == len(self.plan.routes)


def unheard(
    events: Iterable[Event], plans: Mapping[str, Plan], first: date, day: date, now: datetime
) -> tuple[Unheard, ...]:
    """The days from ``first`` on and before ``day``, over by ``now``, of which trucks were not heard.

    ``events`` are those in force. Of several plans of a date the one noted last counts; plans that were only
    made, and not noted, are no reason to ask.
    """
    events = tuple(events)
    newest = {
        event.day: plans[event.fact.plan_id]
        for event in sorted(events, key=lambda event: event.seq)
        if isinstance(event.fact, Planned) and not event.fact.rest and event.fact.plan_id in plans
    }
    heard = {(event.day, event.truck_id) for event in events}
    found = []
    for past, plan in sorted(newest.items()):
        ended = max((route.end for route in plan.routes), default=now)
        silent = tuple(r.truck_id for r in plan.routes if (past, r.truck_id) not in heard)
        if silent and first <= past < day and ended <= now:
            found.append(Unheard(plan, silent))
    return tuple(found)
