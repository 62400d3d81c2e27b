"""How good a plan is stands on terminal, map and sheet in the same plain words."""

from __future__ import annotations

import io
from dataclasses import replace

from rich.console import Console

from routing.domain.plan import Bound, Plan
from routing.reports.map.html import map_html
from routing.reports.printing.run_sheet import sheet_content
from routing.reports.terminal.terminal import plan_summary
from routing.reports.words.bound import how_good
from routing.reports.words.format import Units
from tests.support.builders import Case, small_case


def with_bound(plan: Plan, bound: Bound | None) -> Plan:
    return replace(plan, totals=replace(plan.totals, bound=bound))


def shown(case: Case) -> tuple[str, str, str]:
    """What terminal, map and the first page of a sheet say."""
    console = Console(file=io.StringIO(), width=100, color_system=None)
    plan_summary(case.operation, case.plan, console)
    assert isinstance(console.file, io.StringIO)
    page = map_html(case.operation, case.plan, case.travel)
    first = sheet_content(case.operation, case.plan, case.plan.routes[0]).day
    assert first is not None
    return " ".join(console.file.getvalue().split()), page, first.legend


def test_how_much_cheaper_a_plan_can_be_is_said_everywhere() -> None:
    case = small_case()
    told = how_good(case.plan, Units("us", "USD"))
    assert "no plan can be more than 10.0 % (" in told
    assert all(told in text for text in shown(case))


def test_a_proved_plan_is_said_to_be_proved() -> None:
    case = small_case()
    total = case.plan.totals.objective.total
    case = case._replace(plan=with_bound(case.plan, Bound(total, 0.0, True, "by hand")))
    assert all("Proved: with these trucks and hours no plan is cheaper" in text for text in shown(case))


def test_what_is_not_known_is_not_claimed() -> None:
    case = small_case()
    case = case._replace(plan=with_bound(case.plan, None))
    assert how_good(case.plan, Units("us", "USD")) == ""
    assert not any("cheaper" in text for text in shown(case))


def test_yards_left_count_with_their_value() -> None:
    case = small_case()
    parts = case.plan.totals.objective.parts
    told = how_good(case.plan, Units("us", "USD"))
    assert f"counting yards left unfed as {parts['unserved']:,.0f} USD" in told
    none = replace(case.plan.totals.objective, parts=parts | {"unserved": 0.0})
    fed = replace(case.plan, totals=replace(case.plan.totals, objective=none))
    assert "counting" not in how_good(fed, Units("us", "USD"))
