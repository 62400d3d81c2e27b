"""What stands on a run sheet, whatever it is printed on."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from routing.domain.clock import TimeWindow
from routing.domain.plan import Fill, Pour, Warning_
from routing.domain.units import L_PER_US_GAL
from routing.reports.printing.run_sheet import sheet_content, sheet_names
from routing.reports.sheet.annex import TEXT_COST, Annex
from routing.reports.sheet.model import Block, SheetContent
from routing.reports.words.marks import stop_marks, visits
from routing.reports.words.text import clean, cost, cut
from tests.support.builders import HOUR, Case, small_case, small_needs


@pytest.fixture(scope="module")
def case() -> Case:
    return small_case()


@pytest.fixture(scope="module")
def sheet(case: Case) -> SheetContent:
    return sheet_content(case.operation, case.plan, case.plan.routes[0])


def yard_box(sheet: SheetContent, name: str) -> Block:
    return next(block for block in sheet.blocks if block.kind == "yard" and block.title == name)


def fact(block: Block, label: str) -> str:
    return next(f.text for f in (*block.facts, *block.after) if f.label == label)


def test_boxes_follow_the_day_and_totals_come_last(sheet: SheetContent) -> None:
    kinds = [block.kind for block in sheet.blocks]
    assert kinds[0] == "loadout"
    assert kinds[-1] == "totals"
    assert kinds.index("end") < kinds.index("unserved") < kinds.index("totals")


def test_yards_are_numbered_in_visiting_order_and_refills_apart(case: Case) -> None:
    marks = list(stop_marks(case.plan.routes[0]).values())
    assert marks == ["START", "1", "R1", "2", "3", "BR1", "4", "5", "END"]


def test_loadout_names_syrup_amount_and_weight_of_every_tank(sheet: SheetContent) -> None:
    table = sheet.blocks[0].table
    assert table is not None
    assert table.rows[0] == (
        "B1", "2:1 sugar, lot A-17", "empty", "147.9 gal", "147.9 gal", "1,638 lb",
    )  # fmt: skip
    assert pytest.approx(147.9, abs=0.05) == 560 / L_PER_US_GAL
    assert table.rows[2][0] == "20 PAILS"


def test_loadout_tells_pails_out_and_empties_back(sheet: SheetContent) -> None:
    assert fact(sheet.blocks[0], "Pails full").startswith("load 20")
    refill = next(block for block in sheet.blocks if block.kind == "refill")
    assert fact(refill, "Empties back").startswith("20 empty pails")


def test_loadout_weighs_the_truck_against_its_legal_limit(sheet: SheetContent) -> None:
    assert "of 19,500 lb allowed" in fact(sheet.blocks[0], "Truck weighs")


def test_loadout_tells_what_was_left_in_the_tank_overnight(case: Case) -> None:
    truck = case.operation.trucks["SMALL"]
    left = replace(truck, tanks=(replace(truck.tanks[0], level_l=100.0),))
    operation = replace(case.operation, trucks=case.operation.trucks | {"SMALL": left})
    table = sheet_content(operation, case.plan, case.plan.routes[1]).blocks[0].table
    assert table is not None
    assert table.rows[0][2] == "26.4 gal"


def test_gate_hours_say_by_when_to_be_out(sheet: SheetContent) -> None:
    assert fact(yard_box(sheet, "Gate Corner"), "Gate") == "open 08:15-12:00, be out by 12:00. code 0000"


def test_a_wait_at_the_gate_is_told_from_the_arrival(sheet: SheetContent) -> None:
    times = {f.label: f.text for f in yard_box(sheet, "Gate Corner").times}
    assert times == {"ARRIVE": "07:36", "BEGIN AT": "08:15"}


def test_every_group_gets_its_own_line_with_amount_each_and_total(sheet: SheetContent) -> None:
    table = yard_box(sheet, "Willow Bend").table
    assert table is not None
    assert [row[1:4] for row in table.rows] == [
        ("30", "1.98 gal", "59.4 gal"),
        ("18", "1.32 gal", "23.8 gal"),
    ]
    assert table.total[3] == "83.2 gal"


def test_tank_levels_run_on_from_stop_to_stop_in_the_table_of_the_day(sheet: SheetContent) -> None:
    assert sheet.day is not None
    assert sheet.day.tanks == ("B1", "B2")
    left = {row.name: row.left for row in sheet.day.rows if row.kind == "yard"}
    assert left["Willow Bend"] == ("3", "119")
    assert left["Gate Corner"] == ("69", "119")


def test_quarantine_is_said_in_words(sheet: SheetContent) -> None:
    assert yard_box(sheet, "Lone Slough").flag.startswith("QUARANTINE")
    assert not yard_box(sheet, "Lid Hill").flag


def test_starving_yard_is_flagged_when_the_need_is_known(case: Case) -> None:
    needs = {need.yard_id: need for need in small_needs(case.operation)}
    sheet = sheet_content(case.operation, case.plan, case.plan.routes[0], needs)
    assert yard_box(sheet, "Hungry Flat").flag == "STARVING: do not skip this yard."
    assert "54 days of stores" in yard_box(sheet, "Lid Hill").subtitle


def test_cautions_of_the_need_stand_at_the_yard(case: Case) -> None:
    needs = {need.yard_id: need for need in small_needs(case.operation)}
    needs["Y5"] = replace(needs["Y5"], cautions=("robbing is high: spill nothing", "floats in"))
    box = yard_box(sheet_content(case.operation, case.plan, case.plan.routes[0], needs), "Lid Hill")
    assert fact(box, "CAUTION") == "Robbing is high: spill nothing. Floats in."


def test_yard_that_is_not_level_is_not_cut_twice(sheet: SheetContent) -> None:
    assert "amounts allow for it" in fact(yard_box(sheet, "Lone Slough"), "Ground")


def test_late_feeding_hours_stand_on_the_sheet(case: Case) -> None:
    needs = {need.yard_id: need for need in small_needs(case.operation)}
    needs["Y1"] = replace(needs["Y1"], windows=(TimeWindow(16 * HOUR, 20 * HOUR),))
    sheet = sheet_content(case.operation, case.plan, case.plan.routes[0], needs)
    assert fact(yard_box(sheet, "Willow Bend"), "Feed only") == "16:00-20:00"


@pytest.mark.parametrize("number", ["911", ""])
def test_emergency_line_gives_number_and_place(case: Case, number: str) -> None:
    operation = replace(case.operation, work=replace(case.operation.work, emergency_number=number))
    sheet = sheet_content(operation, case.plan, case.plan.routes[0])
    line = yard_box(sheet, "Lid Hill").emergency
    assert (number or "your local emergency number") in line
    assert "Say: Lid Hill; 44.600000 north, 100.150000 west" in line


def test_refill_names_the_amount_of_each_syrup(case: Case, sheet: SheetContent) -> None:
    titles = [block.title for block in sheet.blocks if block.kind == "refill"]
    assert titles == ["REFILL at North Tank: TAKE 17.2 gal 2:1 sugar"]
    route = case.plan.routes[0]
    stops = tuple(
        replace(s, fill=(*s.fill, Fill("HF55", 100.0, "B2"))) if s.kind == "refill" else s
        for s in route.stops
    )
    two = sheet_content(case.operation, case.plan, replace(route, stops=stops))
    box = next(block for block in two.blocks if block.kind == "refill")
    assert box.title.endswith("TAKE 17.2 gal 2:1 sugar, 26.4 gal HFCS 55")
    assert [blank.label for blank in box.blanks][:2] == ["Taken 2:1 sugar", "Taken HFCS 55"]


def test_a_refill_keeps_pails_apart_from_what_is_pumped(case: Case) -> None:
    """Who sets the meter to tank and pails together runs the tank over."""
    route = case.plan.routes[0]
    stops = tuple(
        replace(s, fill=(*s.fill, Fill("S67", 75.0, None, 10))) if s.kind == "refill" else s
        for s in route.stops
    )
    sheet = sheet_content(case.operation, case.plan, replace(route, stops=stops))
    box = next(block for block in sheet.blocks if block.kind == "refill")
    assert box.title.endswith("TAKE 17.2 gal 2:1 sugar, 10 full pails")


def test_every_yard_has_blanks_and_a_skip_box(sheet: SheetContent) -> None:
    for block in sheet.blocks:
        if block.kind == "yard":
            labels = {blank.label for blank in block.blanks}
            assert {"Arrived", "Left", "Next visit", "Notes"} <= labels
            assert block.table is not None
            assert {"Poured", "Dead", "Light"} <= set(block.table.head)
            assert "gate" in block.skip
            assert block.where is not None
            assert block.where.geo.startswith("geo:44.")


def test_every_group_has_a_blank_for_what_was_poured(case: Case) -> None:
    route = case.plan.routes[0]
    stops = list(route.stops)
    k = next(i for i, stop in enumerate(stops) if stop.place_id == "Y1")
    stops[k] = replace(stops[k], pour=(*stops[k].pour, Pour("new", "top3", "HF55", 2, 10.0, "B2")))
    sheet = sheet_content(case.operation, case.plan, replace(route, stops=tuple(stops)))
    table = yard_box(sheet, "Willow Bend").table
    assert table is not None
    column = table.head.index("Poured")
    assert [row[column] for row in table.rows] == ["", "", ""]
    assert [row[4].split(",")[0] for row in table.rows] == ["2:1 sugar", "2:1 sugar", "HFCS 55"]


def test_split_yard_names_its_other_visit(case: Case) -> None:
    first, second = case.plan.routes
    again = next(stop for stop in first.stops if stop.place_id == "Y1")
    later = replace(again, seq=99, arrive=again.arrive + timedelta(hours=5))
    plan = replace(case.plan, routes=(first, replace(second, stops=(*second.stops, later))))
    assert visits(plan)["Y1"] == (("BIG", "2"), ("SMALL", "2"))
    box = yard_box(sheet_content(case.operation, plan, first), "Willow Bend")
    assert "PART VISIT 1 of 2, also truck SMALL stop 2" in box.subtitle


def test_track_limit_is_set_against_the_weight_on_arrival(case: Case) -> None:
    sheet = sheet_content(case.operation, case.plan, case.plan.routes[1])
    limits = fact(yard_box(sheet, "Narrow Draw"), "Limits")
    assert limits.startswith("track or bridge 9,921 lb, you come with 8,168 lb")
    assert "at stop 1" in fact(sheet.blocks[0], "Track limit")


def test_every_unserved_yard_has_reason_and_remedy(case: Case, sheet: SheetContent) -> None:
    block = next(block for block in sheet.blocks if block.kind == "unserved")
    text = " ".join(f"{f.label} {f.text}".lower() for f in block.facts)
    for left in case.plan.unserved:
        assert case.operation.yards[left.yard_id].name.lower() in text
        assert left.reason.lower() in text
        assert left.remedy.lower() in text


def test_cautions_name_the_place_and_the_standing_ones_are_there(sheet: SheetContent) -> None:
    facts = [(f.label, f.text) for f in sheet.blocks[-1].facts]
    assert ("CAUTION", "North Tank: 2:1 syrup may crystallise when stored below 20 C.") in facts
    labels = [label for label, _ in facts]
    for label in ("Weight", "Hours", "Stings", "Disease", "Hot syrup"):
        assert label in labels


def test_a_warning_about_a_yard_stands_at_its_stop_and_only_there(case: Case) -> None:
    yard_id = next(stop.place_id for stop in case.plan.routes[0].stops if stop.kind == "yard")
    name = case.operation.yards[yard_id].name
    text = f"{name} lies 0.6 mi from the nearest road: check the coordinates"
    plan = replace(case.plan, warnings=(Warning_("far_from_road", text, yard_id),))
    sheet = sheet_content(case.operation, plan, plan.routes[0])
    told = [block.kind for block in sheet.blocks for f in block.facts if text in f.text]
    assert told == ["yard"]


def test_sheet_of_a_plan_that_failed_the_audit_says_so_on_every_page(case: Case) -> None:
    plan = replace(case.plan, audit=replace(case.plan.audit, passed=False))
    head = sheet_content(case.operation, plan, plan.routes[0]).running_head
    assert head.startswith("DO NOT DRIVE, audit not passed")


def test_time_after_midnight_says_so(case: Case) -> None:
    route = case.plan.routes[1]
    late = tuple(
        replace(s, arrive=s.arrive + timedelta(hours=17), begin=s.begin + timedelta(hours=17),
                leave=s.leave + timedelta(hours=17))
        for s in route.stops
    )  # fmt: skip
    sheet = sheet_content(case.operation, case.plan, replace(route, stops=late))
    assert sheet.blocks[1].times[0].text == "00:34 (+1 day)"


def test_metric_operation_reads_litres_and_kilograms() -> None:
    case = small_case("metric")
    sheet = sheet_content(case.operation, case.plan, case.plan.routes[0])
    table = sheet.blocks[0].table
    assert table is not None
    assert table.rows[0][3:] == ("560.0 L", "560.0 L", "743 kg")


def test_many_groups_keep_to_the_box_and_the_rest_is_in_the_annex(case: Case) -> None:
    route = case.plan.routes[0]
    stops = list(route.stops)
    k = next(i for i, stop in enumerate(stops) if stop.place_id == "Y1")
    many = tuple(Pour(f"group {i}", "frame2", "S67", 1, 1.0, "B1") for i in range(40))
    stops[k] = replace(stops[k], pour=many)
    sheet = sheet_content(case.operation, case.plan, replace(route, stops=tuple(stops)))
    table = yard_box(sheet, "Willow Bend").table
    assert table is not None
    assert len(table.rows) == 5
    assert table.rows[-1][0].startswith("and 36 more groups")
    annex = next(block for block in sheet.blocks if block.kind == "annex")
    assert all(f"group {i}:" in annex.facts[0].text for i in range(40))


def test_long_text_is_cut_in_its_box_and_whole_in_the_annex() -> None:
    annex, text = Annex(), "left at the fork " * 60
    short = annex.fit("stop 1, Way in", text, TEXT_COST)
    assert "note 1" in short
    assert cost(short) < TEXT_COST + 60
    assert annex.facts[0].text == text.strip()


def test_cut_counts_wide_letters_and_line_breaks_for_more() -> None:
    assert len(cut("蜂" * 100, 100)) == 50
    assert cut("a\n" * 100, 150).count("\n") <= 2
    assert cut("short", 100) == "short"


def test_clean_keeps_names_and_shows_what_cannot_be_printed() -> None:
    assert clean("Smith's <Yard> é 蜂") == "Smith's <Yard> é 蜂"
    assert clean("a\x00b\x07\ud800\uffff") == "a\ufffdb\ufffd\ufffd\ufffd"
    assert clean("one\r\ntwo\rthree") == "one\ntwo\nthree"
    assert clean("abc\u202edef") == "abcdef"


def test_file_names_are_safe_and_never_alike() -> None:
    names = sheet_names(["Truck 1", "truck/1", "TRUCK_1", "../../etc", "蜂", "", "x" * 300])
    assert len({name.lower() for name in names.values()}) == 7
    for name in names.values():
        assert name.startswith("run_sheet_")
        assert set(name) <= set("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-")
        assert len(name) < 100
