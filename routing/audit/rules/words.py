"""Rules on what a plan says in words: every sentence follows from its decisions, none is added or left out.

Sentences are judged by wording the plan again. Whether the decisions behind them are right, and which
cautions must stand, the other rules judge.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import asdict
from typing import Any

from routing.audit.evidence.book import Book
from routing.audit.rules.rule import MONEY, Breach, PlanRule, differs
from routing.domain.plan import Plan, Stop, Warning_


def notes(book: Book) -> Iterator[Breach]:
    """Every stop has the notes that its yard, its pours and its load call for, in their order."""
    derived = _derived(book)
    for route, other in zip(book.routes, derived.routes, strict=True):
        for halt, stop in zip(route.halts, other.stops, strict=True):
            for text in _lacking(halt.stop, stop):
                yield Breach(text, halt, truck_id=other.truck_id)


def _lacking(stated: Stop, own: Stop) -> Iterator[str]:
    missing = Counter(own.notes) - Counter(stated.notes)
    added = Counter(stated.notes) - Counter(own.notes)
    yield from (f"the note is missing: {text}" for text in missing)
    yield from (f"nothing calls for the note: {text}" for text in added)
    if not missing and not added and stated.notes != own.notes:
        yield "the notes stand in another order"


def reason_words(book: Book) -> Iterator[Breach]:
    """Reason and remedy of every yard left are those of its reason code."""
    for left, own in zip(book.plan.unserved, _derived(book).unserved, strict=True):
        for what, stated, wanted in (
            ("reason", left.reason, own.reason),
            ("remedy", left.remedy, own.remedy),
        ):
            if stated != wanted:
                yield Breach(f"the {what} for {left.reason_code} is: {wanted}", None, left.yard_id)


def caution_words(book: Book) -> Iterator[Breach]:
    """The cautions are those that the plan calls for, word for word."""
    stated, own = Counter(book.plan.warnings), Counter(_derived(book).warnings)
    for warning in own - stated:
        yield _breach(f"the caution is missing: {warning.text}", warning)
    for warning in stated - own:
        yield _breach(f"nothing calls for the caution: {warning.text}", warning)


def _breach(text: str, warning: Warning_) -> Breach:
    return Breach(text, None, warning.place_id, warning.truck_id)


def changes(book: Book) -> Iterator[Breach]:
    """What a re-plan says it changes, and what that costs, is what differs from the plan it replaces."""
    plan, own = book.plan, _derived(book)
    for change in own.changes:
        if change not in plan.changes:
            yield Breach(f"the change is missing: {change.text}", None, change.place_id, change.truck_id)
    for change in plan.changes:
        if change not in own.changes:
            yield Breach(f"nothing was changed so: {change.text}", None, change.place_id, change.truck_id)
    if plan.replaces != own.replaces:
        yield Breach(f"the plan replaces {own.replaces!r}, not {plan.replaces!r}")
    stated, wanted = _figures(plan), _figures(own)
    for name in stated.keys() | wanted.keys():
        if name not in stated or name not in wanted or differs(stated[name], wanted[name], MONEY):
            yield Breach(f"the difference in {name} is {wanted.get(name)}, not {stated.get(name)}")


def _figures(plan: Plan) -> dict[str, float]:
    """Figures of a re-plan's difference by name, those of trucks with the truck's id before."""
    if plan.difference is None:
        return {}
    whole: dict[str, Any] = asdict(plan.difference)
    by_truck = whole.pop("trucks")
    rows = {f"{truck_id} {name}": value for truck_id, row in by_truck.items() for name, value in row.items()}
    return whole | rows


def plan_id(book: Book) -> Iterator[Breach]:
    """A plan's id is the digest of what it says; a plan edited by hand has neither id nor bound."""
    stated, own = book.plan.plan_id, _derived(book).plan_id
    if stated and stated != own:
        yield Breach(
            f"the plan was changed after it got the id {stated}: plan again, or set plan_id to an empty text "
            "and totals.bound to null (that bound was found for the plan as it was)"
        )
    if not stated and book.plan.totals.bound is not None:
        yield Breach("a plan edited by hand cannot claim a bound: set totals.bound to null, or plan again")


def record(book: Book) -> Iterator[Breach]:
    """A finished plan says that it passed this audit, and names every rule of it."""
    stated, own = book.plan.audit, _derived(book).audit
    if stated.passed != own.passed:
        yield Breach(f"the plan's record says passed = {stated.passed}")
    if stated.checks != own.checks:
        yield Breach("the plan's record names other checks than this audit makes: plan again")


def _derived(book: Book) -> Plan:
    assert book.derived is not None
    return book.derived


RULES = (
    PlanRule("note_words", "Every stop has the notes that it calls for, and no others.", notes),
    PlanRule("reason_words", "Reasons and remedies are worded as their codes ask.", reason_words),
    PlanRule("caution_words", "Cautions are those that the plan calls for, word for word.", caution_words),
    PlanRule("changes", "What a re-plan says it changes is what it changes.", changes),
    PlanRule("plan_id", "The plan's id is the digest of what it says.", plan_id),
    PlanRule("record", "The plan's record is that of this audit.", record),
)
