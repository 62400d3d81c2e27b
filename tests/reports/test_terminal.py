"""What is shown in a terminal: complete, in plain words, within 80 columns, with or without colour."""

from __future__ import annotations

import io
import re
from dataclasses import replace

import pytest
from rich.console import Console

from routing.domain.errors import InputProblem
from routing.domain.plan import Finding
from routing.reports.terminal.terminal import audit_report, need_table, plan_summary, print_problems
from tests.support.builders import Case, big_plan, small_case, small_needs
from tests.support.odd import odd_case

ESCAPE = "\x1b"


def plain(width: int = 80) -> Console:
    return Console(file=io.StringIO(), width=width, force_terminal=False, color_system=None)


def shown(console: Console) -> str:
    assert isinstance(console.file, io.StringIO)
    return console.file.getvalue()


def squeezed(text: str) -> str:
    return re.sub(r"\s+", " ", text)


@pytest.fixture(scope="module")
def case() -> Case:
    return small_case()


def summary(case: Case, width: int = 80) -> str:
    console = plain(width)
    plan_summary(case.operation, case.plan, console)
    return shown(console)


@pytest.mark.parametrize("make", [small_case, odd_case, lambda: big_plan(30)])
def test_summary_fits_eighty_columns(make: object) -> None:
    case = make()  # type: ignore[operator]
    assert max(len(line) for line in summary(case).splitlines()) <= 80


def test_summary_names_every_truck_and_every_stop(case: Case) -> None:
    text = summary(case)
    for route in case.plan.routes:
        assert f"Truck {route.truck_id}:" in text
        for stop in route.stops:
            if stop.kind == "yard":
                assert case.operation.yards[stop.place_id].name in text
    for words in ("load at Home Shop", "refill at North Tank", "break, 30 min", "back at Home Shop"):
        assert words in text


def test_summary_gives_reason_and_remedy_for_every_unserved_yard(case: Case) -> None:
    text = squeezed(summary(case)).lower()
    for left in case.plan.unserved:
        assert left.reason.lower() in text
        assert left.remedy.lower() in text


def test_yards_in_need_are_told_from_those_that_need_nothing(case: Case) -> None:
    text = summary(case)
    need, rest = text.index("Not fed today: 2 yards"), text.index("Need nothing today: 1 yard")
    assert need < text.index("Far Butte") < text.index("Clover Rise") < rest < text.index("Fat Meadow")


def test_summary_prints_every_caution_with_its_place(case: Case) -> None:
    text = squeezed(summary(case))
    assert "Driving times are estimated from straight lines." in text
    assert "North Tank: 2:1 syrup may crystallise" in text


def test_disease_and_hunger_are_said_in_words_not_in_colour(case: Case) -> None:
    route = case.plan.routes[0]
    hungry = tuple(replace(s, starving=s.place_id == "Y3") for s in route.stops)
    plan = replace(case.plan, routes=(replace(route, stops=hungry),))
    text = summary(Case(case.operation, case.travel, plan))
    assert "Lone Slough QUARANTINE" in text
    assert "Hungry Flat STARVING" in text


def test_totals_add_up_what_the_trucks_do(case: Case) -> None:
    line = next(line for line in summary(case).splitlines() if line.strip().startswith("all "))
    assert line.split()[1:4] == ["6", "188", "378"]


def test_a_plan_that_failed_the_audit_is_never_shown_as_good(case: Case) -> None:
    plan = replace(case.plan, audit=replace(case.plan.audit, passed=False))
    assert "NOT PASSED BY THE AUDIT" in summary(Case(case.operation, case.travel, plan))


def test_output_to_a_pipe_has_no_escape_codes(case: Case, monkeypatch: pytest.MonkeyPatch) -> None:
    assert ESCAPE not in summary(case)
    monkeypatch.setenv("NO_COLOR", "1")
    console = Console(file=io.StringIO(), width=80, force_terminal=True)
    plan_summary(case.operation, case.plan, console)
    assert not re.search(r"\x1b\[[0-9;]*3[0-9]", shown(console))


def test_output_that_knows_only_ascii_gets_question_marks_and_no_crash() -> None:
    case = odd_case()
    raw = io.BytesIO()
    console = Console(file=io.TextIOWrapper(raw, encoding="ascii"), width=80, color_system=None)
    plan_summary(case.operation, case.plan, console)
    need_table(case.operation, small_needs(case.operation), console)
    console.file.flush()
    text = raw.getvalue().decode("ascii")
    assert "Truck BIG" in text
    assert "?" in text


def test_names_are_not_read_as_markup_or_terminal_commands(case: Case) -> None:
    yards = dict(case.operation.yards)
    yards["Y1"] = replace(yards["Y1"], name="[red]Bee[/red] \x1b]0;owned\x07\x1b[31m")
    text = summary(Case(replace(case.operation, yards=yards), case.travel, case.plan), width=120)
    assert "[red]Bee[/red]" in text
    assert ESCAPE not in text
    assert "\x07" not in text


def test_plan_without_a_route_says_so(case: Case) -> None:
    assert "No truck goes out." in summary(Case(case.operation, case.travel, replace(case.plan, routes=())))


def test_need_table_puts_starving_yards_first_and_tells_why(case: Case) -> None:
    console = plain()
    need_table(case.operation, small_needs(case.operation), console)
    text = shown(console)
    assert text.index("Hungry Flat STARVING") < text.index("Far Butte") < text.index("Clover Rise")
    assert "Supers are on." in text
    assert "7 yards to feed, 449.1 gal, 1 yard starving." in text
    assert max(len(line) for line in text.splitlines()) <= 80


def test_need_table_takes_needs_by_yard_too(case: Case) -> None:
    first, second = plain(), plain()
    needs = small_needs(case.operation)
    need_table(case.operation, needs, first)
    need_table(case.operation, {need.yard_id: need for need in needs}, second)
    assert shown(first) == shown(second)


def test_stores_that_were_capped_are_not_shown_as_a_count(case: Case) -> None:
    console = plain()
    need_table(case.operation, [replace(small_needs(case.operation)[0], days_of_stores=999.0)], console)
    assert "999+" in shown(console)


def test_problems_are_all_shown_with_place_value_and_remedy() -> None:
    problems = [
        InputProblem("lat", "yards.csv", 3, "lat", "444", "latitude is -90 to 90", "write it in degrees"),
        InputProblem("late", "colonies.csv", 0, "", "", "60 days old", "inspect again", severity="warning"),
    ]
    console = plain()
    print_problems(problems, console)
    text = squeezed(shown(console))
    assert "error yards.csv:3:lat 444: latitude is -90 to 90: write it in degrees [lat]" in text
    assert "warning colonies.csv: 60 days old: inspect again [late]" in text
    assert "1 error, 1 warning: nothing can be planned" in text


def test_no_problem_is_said_too() -> None:
    console = plain()
    print_problems([], console)
    assert shown(console).strip() == "No problem found."


def test_audit_report_lists_findings_and_checks() -> None:
    console = plain()
    audit_report(
        [Finding("gate_hours", "one minute late", "BIG", 3, "Y2")],
        ["Gates are kept.", "Tanks hold it."],
        console,
    )
    text = squeezed(shown(console))
    assert "NOT PASSED: 1 finding." in text
    assert "gate_hours (truck BIG, stop 3, Y2): one minute late" in text
    assert "Checked Gates are kept. Tanks hold it." in text
    console = plain()
    audit_report([], ["gate hours", "tanks"], console)
    assert "Passed: 2 checks, no finding." in shown(console)
