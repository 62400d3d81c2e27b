"""Judge a plan independently: recompute everything from operation and travel, and say what is wrong."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from routing.audit.evidence.book import Book
from routing.audit.evidence.numbers import negative_numbers, not_numbers
from routing.audit.evidence.replay import open_book
from routing.audit.rules import (
    cautions,
    doses,
    hours,
    latest,
    load,
    pour,
    reasons,
    rest_of_day,
    shape,
    starving,
    time,
    totals,
    words,
    work,
    yards,
)
from routing.audit.rules.rule import Rule
from routing.domain.operation import Operation
from routing.domain.plan import Finding, Plan
from routing.domain.travel import Travel
from routing.log.day import DayNow

__all__ = ["RULES", "WORD_RULES", "AuditReport", "audit", "checks"]

RULES: tuple[Rule, ...] = (
    *shape.RULES,
    *rest_of_day.RULES,
    *time.RULES,
    *hours.RULES,
    *latest.RULES,
    *work.RULES,
    *load.RULES,
    *pour.RULES,
    *yards.RULES,
    *doses.RULES,
    *reasons.RULES,
    *starving.RULES,
    *cautions.RULES,
    *totals.RULES,
)
"""Every rule that a plan's decisions and figures are held to, in the order it is checked."""

WORD_RULES: tuple[Rule, ...] = words.RULES
"""Every rule that what a plan says in words is held to, once all else is right."""

_NUMBERS = "Every figure is a number, and no amount is negative."


@dataclass(frozen=True)
class AuditReport:
    """What the audit found, and one sentence for every rule it checked."""

    findings: tuple[Finding, ...]
    checks: tuple[str, ...]

    @property
    def passed(self) -> bool:
        """Whether nothing was found."""
        return not self.findings


def checks() -> tuple[str, ...]:
    """One sentence for every rule that a finished plan was held to."""
    return (_NUMBERS, *(rule.states for rule in (*RULES, *WORD_RULES)))


def audit(
    operation: Operation,
    travel: Travel,
    plan: Plan,
    now: DayNow | None = None,
    derive: Callable[[Plan], Plan] | None = None,
) -> AuditReport:
    """Hold a plan against every rule. No figure of the plan is trusted; no plan raises.

    Parameters
    ----------
    operation
        With its syrup densities and prices resolved.
    travel
        The table that the plan was made with.
    now
        How the day stood that the plan is the rest of; None for a whole day's plan.
    derive
        Gives the plan with its words, id and record made anew from its decisions. It is called only when
        nothing else is wrong, so every id in the plan is known. None: words are not judged.

    Returns
    -------
    AuditReport
        Findings in the order of ``RULES``, then of routes and stops. With a figure that is not a number,
        nothing else can be checked.
    """
    broken = not_numbers(plan)
    if broken:
        return AuditReport(tuple(broken), (_NUMBERS,))
    try:
        book = open_book(operation, travel, plan, now)
    except Exception as error:
        return AuditReport((Finding("plan_unreadable", f"the routes cannot be followed: {error!r}"),), ())
    findings = negative_numbers(plan)
    for rule in RULES:
        findings += _apply(rule, book)
    rules = RULES
    if derive is not None and not findings:
        rules = (*RULES, *WORD_RULES)
        book.derived = derive(plan)
        for rule in WORD_RULES:
            findings += _apply(rule, book)
    return AuditReport(tuple(findings), (_NUMBERS, *(rule.states for rule in rules)))


def _apply(rule: Rule, book: Book) -> list[Finding]:
    """The findings of one rule. A rule that fails on a mangled plan counts as broken, never as kept."""
    try:
        return rule.findings(book)
    except Exception as error:
        return [Finding("rule_failed", f"{rule.code} could not be checked: {error!r}")]
