"""Gather the cautions of a day: those that stop it stand open, the rest grouped and folded."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from routing.domain.operation import Operation
from routing.domain.plan import Plan, Warning_
from routing.domain.travel import Travel
from routing.reports.words.format import plural
from routing.reports.words.names import yard_name

STOPPING = frozenset({"starving_unserved", "break_overdue"})
"""Codes of cautions that must be read before anybody drives."""

GROUP_FROM = 3
"""So many cautions of one code are told as one line that opens."""

CODE_WORDS = {
    "overtime": "Overtime",
    "surge": "Part-full tanks surge",
    "quarantine": "Quarantine",
    "near_legal_weight": "Near the legal weight",
}


@dataclass(frozen=True)
class Caution:
    """A caution, or a group of them with their texts in ``members``; ``loud`` ones stop the day."""

    text: str
    where: str = ""
    loud: bool = False
    members: tuple[str, ...] = ()

    @property
    def count(self) -> int:
        """How many cautions it stands for."""
        return len(self.members) or 1


def cautions(operation: Operation, plan: Plan, travel: Travel) -> list[Caution]:
    """All that must be known before driving, loudest first, each once."""
    found = []
    if not plan.audit.passed:
        found.append(Caution("This plan has not passed its check. Do not drive by it.", loud=True))
    for left in plan.unserved:
        if left.starving:
            name = yard_name(operation, left.yard_id)
            said = "; ".join(part for part in (left.reason, left.remedy) if part)
            found.append(Caution(f"Starving and not fed: {said}", name, True))
    if travel.provenance.estimated:
        note = travel.provenance.note.removeprefix("Estimated: ")
        found.append(Caution(f"Distances and times are estimated: {note}"))
    counts = Counter(w.code for w in plan.warnings)
    grouped: set[str] = set()
    for warning in plan.warnings:
        if counts[warning.code] < GROUP_FROM or warning.code in STOPPING:
            found.append(_caution(operation, warning))
        elif warning.code not in grouped:
            grouped.add(warning.code)
            found.append(_group([w for w in plan.warnings if w.code == warning.code], operation))
    return sorted(dict.fromkeys(found), key=lambda caution: not caution.loud)


def _caution(operation: Operation, warning: Warning_) -> Caution:
    where = _place_name(operation, warning.place_id)
    said = warning.text.removeprefix(f"{where}: ") if where else warning.text
    # A sentence that begins with the place needs no heading that says it again.
    where = "" if where and said.startswith(where) else where
    return Caution(said, where, warning.code in STOPPING)


def _group(warnings: list[Warning_], operation: Operation) -> Caution:
    """``Overtime: 25 trucks``."""
    code = warnings[0].code
    word = CODE_WORDS.get(code, code.replace("_", " ").capitalize())
    trucks = {w.truck_id for w in warnings if w.truck_id}
    places = {w.place_id for w in warnings if w.place_id}
    whom = plural(len(trucks), "truck") if trucks else plural(len(places), "place") if places else ""
    said = tuple(
        f"{c.where}: {c.text}" if c.where else c.text for c in (_caution(operation, w) for w in warnings)
    )
    return Caution(f"{word}: {whom or plural(len(warnings), 'caution')}", members=said)


def _place_name(operation: Operation, place_id: str | None) -> str:
    if place_id is None:
        return ""
    place = operation.yards.get(place_id) or operation.depots.get(place_id)
    # A yard that is done is no part of the rest of the day any more; the caution names it.
    return (place.name or place_id) if place else ""
