"""Tables on any screen, from a telephone to a wide terminal: nothing that matters is cut."""

from __future__ import annotations

import io
from dataclasses import replace
from datetime import timedelta

import pytest
from rich.console import Console
from rich.text import Text

from routing.domain.plan import Plan, Stop
from routing.reports.terminal.table import Column, lay_out, table
from routing.reports.terminal.terminal import need_table, plan_summary
from routing.reports.words.format import Units, number
from tests.support.builders import Case, big_plan, small_case, small_needs

WIDTHS = (40, 60, 80, 120)


def printed(show: object, width: int) -> str:
    console = Console(file=io.StringIO(), width=width, color_system=None)
    show(console)  # type: ignore[operator]
    assert isinstance(console.file, io.StringIO)
    return console.file.getvalue()


def summary(case: Case, width: int) -> str:
    return printed(lambda console: plan_summary(case.operation, case.plan, console), width)


def by_night(plan: Plan) -> Plan:
    """The plan fifteen hours later: its evening ends past midnight."""
    later = timedelta(hours=15)

    def moved(stop: Stop) -> Stop:
        return replace(stop, arrive=stop.arrive + later, begin=stop.begin + later, leave=stop.leave + later)

    routes = tuple(
        replace(r, start=r.start + later, end=r.end + later, stops=tuple(moved(s) for s in r.stops))
        for r in plan.routes
    )
    return replace(plan, routes=routes)


def squeezed(text: str) -> str:
    return " ".join(text.split())


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("night", [False, True], ids=["by day", "by night"])
def test_no_yard_time_or_amount_is_cut(width: int, night: bool) -> None:
    case = small_case()
    plan = by_night(case.plan) if night else case.plan
    shown = summary(case._replace(plan=plan), width)
    assert "…" not in shown
    assert max(map(len, shown.splitlines())) <= width
    units = Units(case.operation.units)
    for stop in (s for r in plan.routes for s in r.stops):
        if stop.kind != "yard":
            continue
        poured = number(units.volume_value(sum(p.volume_l for p in stop.pour)), 1)
        day = f"{(stop.arrive.date() - plan.date).days:+d}" if stop.arrive.date() > plan.date else ""
        row = next(line for line in shown.splitlines() if f"{stop.arrive:%H:%M}{day} " in line)
        assert f"-{poured}" in row
        assert f"{stop.leave:%H:%M}" in row
        for word in case.operation.yards[stop.place_id].name.split():
            assert word in shown


def test_a_night_says_the_next_day_in_two_letters() -> None:
    case = small_case()
    shown = summary(case._replace(plan=by_night(case.plan)), 80)
    assert "+1" in shown
    assert "aboard" in shown
    assert "lb" in shown


def test_a_phone_loses_levels_before_masses_and_neither_before_it_must() -> None:
    rows = {width: summary(small_case(), width) for width in (50, 60, 80)}
    assert "aboard" in rows[80]
    assert "aboard" not in rows[60]
    assert any(line.split()[-1:] == ["lb"] for line in rows[60].splitlines())


@pytest.mark.parametrize("width", WIDTHS)
def test_why_a_yard_is_fed_is_never_squeezed_into_a_ribbon(width: int) -> None:
    operation = small_case().operation
    needs = small_needs(operation)
    shown = printed(lambda console: need_table(operation, needs, console), width)
    assert max(map(len, shown.splitlines())) <= width
    for need in needs:
        assert squeezed(need.why if need.doses else need.reason).lower() in squeezed(shown).lower()


@pytest.mark.parametrize("width", WIDTHS)
def test_totals_keep_what_the_day_costs_on_any_screen(width: int) -> None:
    shown = summary(big_plan(30), width)
    assert "cost" in shown
    assert number(big_plan(30).plan.totals.cost.total) in shown


def test_where_no_table_fits_every_figure_stands_behind_its_name() -> None:
    columns = (Column("tank"), Column("holds", right=True), Column("mass", right=True))
    rows = [("a-tank-with-a-long-name", "1,234.5 gal", "12,345 lb")]
    shown = printed(lambda console: table(console, columns, rows), 30)
    assert "holds 1,234.5 gal" in squeezed(shown)
    assert "mass 12,345 lb" in squeezed(shown)
    assert max(map(len, shown.splitlines())) <= 30


def test_columns_go_in_the_order_named_and_no_more_than_must() -> None:
    columns = (Column("first"), Column("second", drop=2), Column("third", drop=1))
    rows = [[Text("12345"), Text("123456"), Text("12345")]]
    kept = [lay_out(columns, rows, width) for width in (21, 20, 14, 13)]
    assert [layout.shown if layout else None for layout in kept] == [(0, 1, 2), (0, 1), (0, 1), (0,)]


@pytest.mark.parametrize("width", WIDTHS)
def test_a_long_name_is_wrapped_and_not_cut(width: int) -> None:
    case = small_case()
    name = "Behind the third windbreak south of the old schoolhouse road"
    yards = case.operation.yards
    named = case.operation.yards | {y: replace(yards[y], name=f"{name} {y}") for y in ("Y1", "Y9")}
    operation = replace(case.operation, yards=named)
    shown = summary(case._replace(operation=operation), width)
    needs = printed(lambda console: need_table(operation, small_needs(operation), console), width)
    for word in (*name.split(), "Y1", "Y9"):
        assert word in shown
        assert word in needs
    assert "…" not in shown + needs
