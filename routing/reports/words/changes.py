"""Say what a re-plan changed: each crew its own part, what to do now first."""

from __future__ import annotations

import re

from routing.domain.operation import Operation
from routing.domain.plan import Change, Plan, Route, TruckDifference
from routing.reports.words.format import Units, duration
from routing.reports.words.names import sentence, yard_name

LABELS = {
    "tell": "NOW",
    "moved": "NEW STOP",
    "added": "NEW STOP",
    "taken": "NOT YOURS",
    "dropped": "LEFT OUT",
    "reordered": "ORDER",
    "later": "HOME",
    "earlier": "HOME",
}
"""What each kind of change is called, in the order in which they are told."""

LEAST_S, LEAST_M, LEAST_L = 60, 100, 0.2
"""A minute, a hundred metres, a cup: less than this is as good as the same (a choice)."""

COST = "COST"
NEW = "NEW"
NEW_CODES = frozenset({"moved", "added"})


def of_truck(plan: Plan, truck_id: str | None) -> list[Change]:
    """The changes that concern a crew (None: no crew alone), what to do now first, new stops as they come.

    Yards that are left out come from ``left_out``.
    """
    found = [c for c in plan.changes if c.truck_id == truck_id and c.code != "dropped"]
    labels = list(dict.fromkeys(LABELS.values()))
    stops = [s.place_id for r in plan.routes if r.truck_id == truck_id for s in r.stops if s.kind == "yard"]

    def turn(change: Change) -> tuple[int, int]:
        label = LABELS.get(change.code)
        place = stops.index(change.place_id) if change.place_id in stops else len(stops)
        return labels.index(label) if label else len(labels), place if change.code in NEW_CODES else 0

    return sorted(found, key=turn)


_SAID_TO_CREW = (
    (r"^goes on (to|at|home|by way of)\b", r"GO ON \1"),
    (r"^goes next\b", "GO NEXT"),
    (r"^stays\b", "STAY"),
    (r"^loads at\b", "LOAD at"),
    (r"^takes its break, then (?:goes )?", "TAKE YOUR BREAK, then go "),
    (r"^is home\b", "you are home"),
    (r"^drives its yards\b", "drive your yards"),
    (r"^is out of action\b", "OUT OF ACTION"),
    (r"^has no more stops and is past its hours: rest\b", "NO MORE STOPS, and you are past your hours: rest"),
    (r"^(STAY) at its depot: no stop is planned for it$", r"\1 at your depot: no stop is planned for you"),
    (r": no stop is planned for it$", ": no stop is planned for you"),
    (r": it has no more stops$", ": you have no more stops"),
    (r", and takes its break there first$", ", and take your break there first"),
    (r", takes its break there, then goes ", ", take your break there, then go "),
    (r", takes its break, then to ", ", take your break, then to "),
)
"""How what the office reads of a truck is said to its crew; what has a name in it stands as it is."""


def to_crew(change: Change) -> str:
    """A change as its crew reads it: ``GO ON to Shelterbelt, there by 10:30``."""
    truck = f"{change.truck_id} "
    if change.truck_id is None or not change.text.startswith(truck):
        return change.text
    said = change.text.removeprefix(truck)
    for pattern, words in _SAID_TO_CREW:
        said = re.sub(pattern, words, said)
    return said


def left_out(operation: Operation, plan: Plan, truck_id: str | None) -> list[tuple[str, str]]:
    """Yards that a crew was to feed and nobody does: those with the same reason together, and the reason."""
    given = {stop.place_id for route in plan.routes for stop in route.stops if stop.kind == "yard"}
    reasons = {left.yard_id: sentence(left.reason) for left in plan.unserved}
    grouped: dict[str, list[str]] = {}
    for change in plan.changes:
        if change.truck_id == truck_id and change.code == "dropped" and change.place_id is not None:
            part = " (in part)" if change.place_id in given else ""
            reason = reasons.get(change.place_id, sentence(change.text))
            grouped.setdefault(reason, []).append(yard_name(operation, change.place_id) + part)
    return [(", ".join(names), reason) for reason, names in grouped.items()]


def new_visits(plan: Plan, route: Route) -> dict[int, Change]:
    """The visits that are new for a truck, by ``seq``, each with the change that tells of it."""
    new = {c.place_id: c for c in plan.changes if c.truck_id == route.truck_id and c.code in NEW_CODES}
    return {s.seq: new[s.place_id] for s in route.stops if s.kind == "yard" and s.place_id in new}


def told_trucks(plan: Plan) -> list[str | None]:
    """Every truck that is told something, those that drive first; None last, where the office is."""
    driving = [route.truck_id for route in plan.routes]
    told = [c.truck_id for c in plan.changes]
    trucks = [t for t in dict.fromkeys((*driving, *told)) if t is not None and t in told]
    return [*trucks, None] if None in told else [*trucks]


def difference_text(plan: Plan) -> str:
    """What the rest of the day takes more or less than was told before; empty where nothing is known."""
    found = plan.difference
    if not plan.replaces or found is None:
        return ""
    return f"Against what was left of the plan before: {_difference(plan, found)}"


def truck_difference_texts(plan: Plan, truck_id: str | None) -> list[str]:
    """The same for one truck, then for the whole day where other trucks change too (None: the day alone)."""
    found = plan.difference
    if not plan.replaces or found is None:
        return []
    own = found.trucks.get(truck_id or "")
    if own is None:
        return [difference_text(plan)]
    texts = [f"This truck, against what it had left before: {_difference(plan, own)}"]
    if any(_matters(other) for name, other in found.trucks.items() if name != truck_id):
        texts.append(f"All trucks together: {_difference(plan, found)}")
    return texts


def _matters(found: TruckDifference) -> bool:
    """Whether a truck takes more or less than before by what would be told."""
    least = ((found.work_s, LEAST_S), (found.distance_m, LEAST_M), (found.fuel_l, LEAST_L))
    return any(abs(value) >= at for value, at in (*least, (found.volume_l, LEAST_L)))


def _difference(plan: Plan, found: TruckDifference) -> str:
    units = Units(plan.units, plan.currency)
    parts = [
        _more(found.work_s, LEAST_S, duration(abs(found.work_s)), "work"),
        _more(found.distance_m, LEAST_M, units.distance(abs(found.distance_m)), "driving"),
        _more(found.fuel_l, LEAST_L, units.volume(abs(found.fuel_l)), "fuel"),
        _more(found.volume_l, LEAST_L, units.volume(abs(found.volume_l)), "syrup poured"),
    ]
    told = ", ".join(part for part in parts if part) or "about the same work and fuel"
    money = _more(found.cost, 0.01, units.money(abs(found.cost)), "wages, fuel and wear", "in")
    return told + (f"; {money}" if money else "")


def _more(value: float, least: float, amount: str, what: str, of: str = "") -> str:
    """``5.3 gal less fuel``; nothing where it is as good as the same."""
    if abs(value) < least:
        return ""
    return " ".join(word for word in (amount, "more" if value > 0 else "less", of, what) if word)
