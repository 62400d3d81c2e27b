"""Say in plain words how good a plan is: how much cheaper any other could be at most."""

from __future__ import annotations

from routing.domain.plan import Plan
from routing.reports.words.format import Units, number


def how_good(plan: Plan, units: Units) -> str:
    """``No plan ... can be more than 5.4 % (476 USD) cheaper``; empty where nothing is known."""
    bound, objective = plan.totals.bound, plan.totals.objective
    if bound is None:
        return ""
    money = f" {units.currency}" if units.currency else ""
    left = objective.parts.get("unserved", 0.0)
    counted = (
        f", counting yards left unfed as {number(left)}{money} on top of the cost" if left >= 0.5 else ""
    )
    if bound.proved:
        return f"Proved: with these trucks and hours no plan is cheaper{counted}."
    above = f"{number(bound.gap * 100, 1)} % ({number(objective.total - bound.objective)}{money})"
    return f"With these trucks and hours no plan can be more than {above} cheaper{counted}."
