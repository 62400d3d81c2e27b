"""Which yards go without is counted once, and said alike wherever a plan is shown."""

from __future__ import annotations

import io
from dataclasses import replace

from rich.console import Console

from routing.domain.plan import Plan, Unserved
from routing.reports.map.panel import left_groups, totals
from routing.reports.printing.run_sheet import sheet_content
from routing.reports.terminal.terminal import plan_summary
from routing.reports.words.unserved import need_nothing, not_fed
from tests.support.builders import Case, small_case


def terminal(case: Case) -> str:
    console = Console(file=io.StringIO(), width=80, color_system=None)
    plan_summary(case.operation, case.plan, console)
    assert isinstance(console.file, io.StringIO)
    return console.file.getvalue()


def partly_fed(plan: Plan) -> Plan:
    """The plan with a part of the need at its first yard left for another day."""
    left = Unserved("Y2", "shift_full", "the crews' hours are full", "send another truck", 30.0, 9, 60.0)
    return replace(plan, unserved=(*plan.unserved, left))


def test_map_terminal_and_sheet_count_the_same_yards() -> None:
    case = small_case()
    for plan in (case.plan, partly_fed(case.plan), replace(case.plan, unserved=case.plan.nothing_due)):
        shown = case._replace(plan=plan)
        names = dict(totals(case.operation, plan))
        assert (
            names["Not fed"]
            == str(len(plan.unfed))
            == str(len(left_groups(case.operation, plan, ())[0].yards))
        )
        assert names["Need nothing"] == str(len(plan.nothing_due))
        assert (not_fed(plan) in terminal(shown)) == bool(plan.unfed)
        assert need_nothing(plan) in terminal(shown)
        sheet = sheet_content(case.operation, plan, plan.routes[0])
        box = next(block for block in sheet.blocks if block.kind == "unserved")
        assert (not_fed(plan) in box.title) == bool(plan.unfed)
        assert any(
            f.text.startswith(f"{len(plan.nothing_due)} yard") for f in box.facts if f.label == "Need nothing"
        )


def test_supers_in_the_way_and_a_full_shift_leave_a_yard_unfed_and_enough_stores_do_not() -> None:
    plan = small_case().plan
    assert {u.reason_code for u in plan.unfed} == {"supers_on", "shift_full"}
    assert {u.reason_code for u in plan.nothing_due} == {"stores_enough"}


def test_a_starving_yard_is_unfed_whatever_the_reason() -> None:
    left = replace(small_case().plan.nothing_due[0], starving=True)
    assert left.unfed


def test_a_yard_fed_in_part_is_unfed_and_said_to_be_in_part() -> None:
    case = small_case()
    shown = case._replace(plan=partly_fed(case.plan))
    assert not_fed(shown.plan) == "Not fed today: 3 yards, 1 of them in part"
    assert "Gate Corner IN PART (still wants 15.9 gal" in terminal(shown)
    yard = next(y for y in left_groups(shown.operation, shown.plan, ())[0].yards if y.yard_id == "Y2")
    assert "FED IN PART" in {word.text for word in yard.words}


def test_the_most_urgent_yard_comes_first() -> None:
    plan = small_case().plan
    hungry = Unserved("Y5", "no_room", "no room", "another truck", 2.0, 20, 150.0, starving=True)
    order = [u.yard_id for u in replace(plan, unserved=(*plan.unserved, hungry)).unfed]
    assert order[0] == "Y5"
    assert order == ["Y5", *(u.yard_id for u in plan.unfed)]
