"""What to look at before a truck leaves in the morning."""

from __future__ import annotations

from routing.domain.places import Health
from routing.domain.plan import Stop
from routing.domain.supplies import Risk
from routing.reports.sheet.day import SheetDay
from routing.reports.words.format import number
from routing.reports.words.supply_names import feeder_name
from routing.reports.words.text import cut, one_line

FEEDERS_COST = 90


def loadout_checks(day: SheetDay, stop: Stop) -> tuple[str, ...]:
    """What to look at before leaving; pails where they are loaded, the rest by what the whole round meets."""
    visited = [s for s in day.route.stops if s.kind == "yard"]
    feeders = {p.feeder_id for s in visited for p in s.pour} & day.operation.feeders.keys()
    drown = sorted(f for f in feeders if day.operation.feeders[f].drowning is not Risk.LOW)
    checks = [
        "gauges read, lids and valves shut, tanks and hoses strapped",
        "weight not over the limit (scale decides)",
        "pump runs, gun primed, spare hose, strainer clean",
        "suits, gloves, smoker, fuel, lighter, water",
        "sting kit, first aid, phone charged, base knows the route",
        "gate keys and codes for every stop below",
    ]
    checks += day.calls[stop.seq].checks
    if drown:
        named = ", ".join(dict.fromkeys(feeder_name(day.operation, f) for f in drown))
        checks.append(f"floats or ladders for {cut(one_line(named), FEEDERS_COST)}")
    flagged = _flagged(day, visited)
    if flagged:
        checks.append(f"wash-down kit: flagged yards on this round ({number(flagged)})")
    return tuple(checks)


def _flagged(day: SheetDay, visited: list[Stop]) -> int:
    ids = {stop.place_id for stop in visited} & day.operation.yards.keys()
    return sum(day.operation.yards[yard_id].health is not Health.CLEAN for yard_id in ids)
