"""What a person reads of a plan is judged: words, id and record, and every single figure."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date, datetime, timedelta
from typing import Any

import pytest

from routing.audit import WORD_RULES, audit, checks
from routing.domain.operation import Assumption
from routing.domain.plan import AuditRecord, Bound, Change, Difference, Plan, TruckDifference, Warning_
from routing.files.plan.plan_json import plan_digest
from routing.need.ration import need_of_day
from routing.planning.plan.words import worded
from tests.audit.mangle import Path, edit_stop, leaves, with_leaf
from tests.support.builders import DAY, small_case

CASE = small_case()
NEEDS = need_of_day(CASE.operation, DAY)


def _said(plan: Plan) -> Plan:
    """The plan with its words, its id and its record."""
    said = worded(CASE.operation, NEEDS, replace(plan, warnings=()))
    return replace(said, plan_id=plan_digest(plan), audit=AuditRecord(True, checks()))


def _finished(plan: Plan) -> Plan:
    """A plan that is a fixed point of its words: its id is the digest of what it says."""
    said = _said(plan)
    return replace(said, plan_id=plan_digest(said))


PLAN = _finished(CASE.plan)


def _found(plan: Plan, derive: Callable[[Plan], Plan] = _said) -> set[str]:
    return {f.code for f in audit(CASE.operation, CASE.travel, plan, derive=derive).findings}


def _resealed(plan: Plan) -> Plan:
    """The plan with an id that fits again, as a forger would leave it."""
    return replace(plan, plan_id=plan_digest(plan))


def test_a_finished_plan_passes_and_lists_every_check() -> None:
    report = audit(CASE.operation, CASE.travel, PLAN, derive=_said)
    assert report.findings == ()
    assert report.checks == checks()


def test_words_are_judged_only_where_all_else_is_right() -> None:
    def never(plan: Plan) -> Plan:
        raise AssertionError("words of a plan with unknown ids cannot be derived")

    broken = edit_stop(PLAN, "Y1", lambda stop: replace(stop, place_id="Y99"))
    assert "unknown_id" in _found(broken, never)


def _note(change: Callable[[tuple[str, ...]], tuple[str, ...]]) -> Callable[[Plan], Plan]:
    return lambda plan: edit_stop(plan, "Y6", lambda stop: replace(stop, notes=change(stop.notes)))


def _left(yard_id: str, **changes: Any) -> Callable[[Plan], Plan]:
    return lambda plan: replace(
        plan, unserved=tuple(replace(u, **changes) if u.yard_id == yard_id else u for u in plan.unserved)
    )


def _warned(change: Callable[[Warning_], Warning_]) -> Callable[[Plan], Plan]:
    return lambda plan: replace(plan, warnings=(change(plan.warnings[0]), *plan.warnings[1:]))


WORD_FAULTS: list[tuple[str, str, Callable[[Plan], Plan]]] = [
    ("a note removed", "note_words", _note(lambda notes: notes[1:])),
    ("a note invented", "note_words", _note(lambda notes: (*notes, "no need to wash"))),
    ("notes put in another order", "note_words", _note(lambda notes: notes[::-1])),
    (
        "a note at a depot",
        "note_words",
        lambda p: edit_stop(p, "FIELD", lambda s: replace(s, notes=("take all",)), "refill"),
    ),
    ("a false reason in words", "reason_words", _left("Y8", reason="the gate is locked")),
    ("a false remedy", "reason_words", _left("Y9", remedy="nothing to do today")),
    ("a caution reworded", "caution_words", _warned(lambda w: replace(w, text="All is well."))),
    (
        "a caution of a new kind invented",
        "caution_words",
        lambda p: replace(p, warnings=(*p.warnings, Warning_("luck", "Take a lucky coin."))),
    ),
    ("a caution for a crew invented", "caution_words", _warned(lambda w: replace(w, to_crew="Carry on."))),
    (
        "a change that was not made",
        "changes",
        lambda p: replace(p, changes=(Change("moved", "Willow Bend goes from BIG to SMALL", "BIG", "Y1"),)),
    ),
    (
        "a difference from no plan",
        "changes",
        lambda p: replace(
            p, difference=Difference(0, 0, 0.0, 0.0, 0.0, {"BIG": TruckDifference(1, 0, 0, 0, 0)})
        ),
    ),
    ("a plan that it does not replace", "changes", lambda p: replace(p, replaces="0123456789")),
    ("an audit that was not passed", "record", lambda p: replace(p, audit=replace(p.audit, passed=False))),
    ("a check that was not made", "record", lambda p: replace(p, audit=AuditRecord(True, checks()[1:]))),
]


@pytest.mark.parametrize(
    ("name", "code", "plant"), WORD_FAULTS, ids=[f[0].replace(" ", "_") for f in WORD_FAULTS]
)
def test_a_false_word_is_found(name: str, code: str, plant: Callable[[Plan], Plan]) -> None:
    planted = plant(PLAN)
    assert planted != PLAN
    assert _found(_resealed(planted)) == {code}


def test_every_rule_on_words_is_shown_to_bite() -> None:
    assert {rule.code for rule in WORD_RULES} == {code for _, code, _ in WORD_FAULTS} | {"plan_id"}


def _proved(plan: Plan) -> Plan:
    total = plan.totals.objective.total
    return replace(plan, totals=replace(plan.totals, bound=Bound(total, 0.0, True, "exact")))


def test_a_bound_raised_to_proved_is_found_by_the_plans_id() -> None:
    assert _found(_proved(PLAN)) == {"plan_id"}


def test_a_plan_edited_by_hand_has_neither_id_nor_bound() -> None:
    edited = replace(PLAN, seed=2)
    assert _found(edited) == {"plan_id"}
    assert _found(replace(edited, plan_id="")) == {"plan_id"}
    free = replace(edited, plan_id="", totals=replace(PLAN.totals, bound=None))
    assert _found(free) == set()


TAKEN_AS_STATED = {
    ("engine",): "what searched, and for how long: nothing in a plan tells it again",
    ("seed",): "any seed may find any plan",
    ("noted",): "how much of the day log the morning was worked out from: another morning breaks other rules",
    ("totals", "bound", "method"): "a bound is no more than the claim of the search that found it",
}
"""Leaves of a plan that no rule can hold against the operation, once the id fits again, and why not."""


SAFE_SIDE = "latest_arrive"
"""A stop need not state it, and may state it too early; one that is too late is found (faults.py)."""


def _held(path: Path) -> bool:
    return path[-1] != SAFE_SIDE and not any(path[: len(taken)] == taken for taken in TAKEN_AS_STATED)


def _kind(path: Path) -> tuple[str, ...]:
    """A leaf without the numbers of its route, stop or row: two of each kind are tried."""
    if path[0] == "assumptions":
        return ("assumptions", str(path[-1]))
    return tuple("#" if isinstance(step, int) else str(step) for step in path)


def _some_of_each_kind(plan: Plan, most: int = 3) -> list[tuple[Path, Any]]:
    found: dict[tuple[str, ...], list[tuple[Path, Any]]] = {}
    for path, value in leaves(plan):
        if _held(path):
            found.setdefault(_kind(path), []).append((path, value))
    return [row for rows in found.values() for row in rows[:: max(1, len(rows) // most)][:most]]


def _others(value: Any) -> list[Any]:
    """Other values of the same kind, one little off, one far."""
    if isinstance(value, bool):
        return [not value]
    if isinstance(value, datetime):
        return [value + timedelta(seconds=s) for s in (-1, 60)]
    if isinstance(value, date):
        return [value + timedelta(days=1)]
    if isinstance(value, int):
        return [value + 1, value - 1]
    if isinstance(value, float):
        return [value * 1.01 + 0.11, value * 0.9 - 0.2]
    if isinstance(value, str):
        return [value + " ", "zzz"]
    return ["zzz", 1] if value is None else [Assumption(1, "", "")]


def test_any_one_figure_or_word_altered_is_found_even_under_a_fitting_id() -> None:
    missed = [
        (path, other)
        for path, value in _some_of_each_kind(PLAN)
        for other in _others(value)
        if not _found(
            _resealed(with_leaf(PLAN, path, other)) if path != ("plan_id",) else with_leaf(PLAN, path, other)
        )
    ]
    assert missed == []


@pytest.mark.parametrize("path", list(TAKEN_AS_STATED))
def test_what_is_taken_as_stated_is_no_more_than_that(path: tuple[str, ...]) -> None:
    """The exceptions are true ones: where a rule comes to hold such a leaf, it leaves this list."""
    whole = next(p for p, value in leaves(PLAN) if p[: len(path)] == path and isinstance(value, str | int))
    value = next(value for p, value in leaves(PLAN) if p == whole)
    assert _found(_resealed(with_leaf(PLAN, whole, value + type(value)(1)))) == set()
