"""What spreadsheets of real people write is read as they mean it, or refused by name: never read as empty."""

from __future__ import annotations

import csv
import io
import os
import zipfile
from collections.abc import Callable
from datetime import date
from pathlib import Path

import openpyxl
import pytest

from routing.domain.errors import InputError
from routing.domain.operation import Operation
from routing.domain.places import Health
from routing.files.operation.folder import read_operation
from routing.files.problems.problems import MOST_OF_A_KIND, Problems
from routing.files.tables.spelling import Bad, Spelling, spelling_of
from routing.files.tables.tables import MOST_BYTES, MOST_ROWS, read_csv
from routing.files.tables.workbook import read_workbook
from tests.support.folders import Rows, Tables, metric_tables, us_tables, write_folder, write_workbook

DAY = date(2026, 9, 12)


def _read(folder: Path) -> Operation:
    operation, warnings = read_operation(folder, day=DAY)
    assert warnings == ()
    return operation


def _codes(folder: Path) -> set[str]:
    try:
        return {problem.code for problem in read_operation(folder, day=DAY)[1]}
    except InputError as error:
        return {problem.code for problem in error.problems}


def _european(rows: Rows) -> str:
    """Semicolons and decimal commas, as a spreadsheet in much of Europe writes CSV."""
    headers = list(dict.fromkeys(key for row in rows for key in row))
    out = io.StringIO()
    writer = csv.writer(out, delimiter=";")
    writer.writerow(headers)
    for row in rows:
        writer.writerow([_comma(row.get(header, "")) for header in headers])
    return out.getvalue()


def _comma(value: object) -> object:
    return str(value).replace(".", ",") if isinstance(value, float) else value


def test_semicolons_and_decimal_commas_read_as_commas_and_points(tmp_path: Path) -> None:
    plain = _read(write_folder(tmp_path / "plain", metric_tables()))
    folder = write_folder(tmp_path / "european", metric_tables())
    for name, rows in metric_tables().items():
        (folder / f"{name}.csv").write_text(_european(rows), encoding="utf-8")
    assert _read(folder) == plain


def test_a_point_in_a_table_of_decimal_commas_is_not_guessed(tmp_path: Path) -> None:
    rows = metric_tables()["yards"]
    folder = write_folder(tmp_path, metric_tables())
    text = _european(rows).replace("11793,40162", "11.793")
    assert "11.793" in text
    (folder / "yards.csv").write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match="write 11793, or 11,793"):
        read_operation(folder, day=DAY)


def test_points_in_a_table_of_semicolons_stay_decimal_points(tmp_path: Path) -> None:
    folder = write_folder(tmp_path / "points", us_tables())
    for name, rows in us_tables().items():
        text = _european(rows)
        (folder / f"{name}.csv").write_text(text.replace(",", "."), encoding="utf-8")
    assert _read(folder) == _read(write_folder(tmp_path / "points_", us_tables()))


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("9/28/2026", date(2026, 9, 28)),
        ("28/9/2026", date(2026, 9, 28)),
        ("8/8/2026", date(2026, 8, 8)),
        ("10.9.2026", date(2026, 9, 10)),
        ("46293", date(2026, 9, 28)),  # a spreadsheet's own day number: 46293 formatted as a date
        ("9/28/2026 0:00", date(2026, 9, 28)),
    ],
)
def test_dates_that_can_mean_one_day_only_are_read(tmp_path: Path, typed: str, meant: date) -> None:
    tables = us_tables()
    tables["colonies"][0]["date"] = typed
    operation, _ = read_operation(write_folder(tmp_path, tables))
    assert operation.groups[0].date == meant


def test_one_date_tells_how_the_others_of_its_table_are_meant(tmp_path: Path) -> None:
    tables = us_tables()
    tables["colonies"][0]["date"] = "9/10/2026"
    tables["colonies"][1]["date"] = "8/30/2026"
    operation, _ = read_operation(write_folder(tmp_path, tables))
    assert operation.groups[0].date == date(2026, 9, 10)


def test_dates_of_both_kinds_in_one_table_leave_the_others_in_doubt() -> None:
    spelling = spelling_of([["9/28/2026", "28/9/2026"]], comma_free=False)
    with pytest.raises(Bad, match="month/day or day/month"):
        spelling.plain("date", "9/10/2026")


def test_day_numbers_count_from_1904_where_the_workbook_does() -> None:
    assert Spelling(epoch=date(1904, 1, 1)).plain("date", "44831") == "2026-09-28"


@pytest.mark.parametrize(
    ("typed", "meant"),
    [("2 pm", "14:00"), ("12:30 a.m.", "00:30"), ("6:30 AM-11 AM", "06:30-11:00"), ("13 pm", "13 pm")],
)
def test_morning_and_afternoon_are_read(typed: str, meant: str) -> None:
    assert Spelling().plain("windows", typed) == meant


def test_a_name_stands_for_an_id_where_one_row_has_it(tmp_path: Path) -> None:
    tables = us_tables()
    tables["colonies"][0]["yard_id"] = "Oak Bottom"
    tables["colonies"][1]["yard_id"] = "ELM"
    tables["trucks"][0]["start_depot"] = "Co op"
    operation = _read(write_folder(tmp_path, tables))
    assert [group.yard_id for group in operation.groups[:2]] == ["oak", "elm"]
    assert operation.trucks["T1"].start_depot == "co-op"


def test_a_name_that_two_yards_share_stands_for_neither(tmp_path: Path) -> None:
    tables = us_tables()
    tables["yards"][1]["name"] = "Oak bottom"
    tables["colonies"][0]["yard_id"] = "Oak Bottom"
    assert "unknown_yard" in _codes(write_folder(tmp_path, tables))


# Workbooks


def _workbook(folder: Path, tables: Tables) -> Path:
    write_folder(
        folder,
        {},
    )
    return write_workbook(folder / "bees.xlsx", tables)


def _edit(path: Path) -> openpyxl.Workbook:
    return openpyxl.load_workbook(path)


def test_a_formula_without_a_result_is_refused_not_read_as_empty(tmp_path: Path) -> None:
    """A quarantined yard became clean so."""
    path = _workbook(tmp_path, us_tables())
    book = _edit(path)
    sheet = book["yards"]
    column = next(c.column for c in sheet[1] if c.value == "health")
    sheet.cell(4, column).value = '=IF(TRUE,"quarantine","clean")'
    book.save(path)
    with pytest.raises(InputError) as error:
        read_operation(tmp_path, day=DAY)
    (problem,) = error.value.problems
    assert (problem.code, problem.place) == ("formula_without_value", "bees.xlsx[yards]:4:health")


def test_a_formula_in_a_column_that_nobody_reads_does_no_harm(tmp_path: Path) -> None:
    tables = us_tables()
    tables["yards"][0]["my own sum"] = "=1+1"
    assert _codes(_workbook(tmp_path, tables).parent) == {"unknown_column"}


def test_a_formula_with_its_result_is_read(tmp_path: Path) -> None:
    path = _workbook(tmp_path, us_tables())
    _rewrite(
        path,
        "xl/worksheets/sheet1.xml",
        lambda xml: xml.replace("<v>26000</v>", "<f>2*13000</f><v>26000</v>"),
    )
    operation, _ = read_operation(tmp_path, day=DAY)
    assert operation.yards["elm"].max_gross_kg == pytest.approx(26000 * 0.45359237)


def test_merged_cells_are_refused_not_read_as_empty(tmp_path: Path) -> None:
    path = _workbook(tmp_path, us_tables())
    book = _edit(path)
    book["yards"].merge_cells("A2:A3")
    book.save(path)
    with pytest.raises(InputError) as error:
        read_operation(tmp_path, day=DAY)
    merged = [problem for problem in error.value.problems if problem.code == "merged_cells"]
    assert [(problem.value, problem.row) for problem in merged] == [("A2:A3", 2)]


def test_merged_cells_beside_the_table_do_no_harm(tmp_path: Path) -> None:
    path = _workbook(tmp_path, us_tables())
    book = _edit(path)
    book["yards"].merge_cells("ZA2:ZB3")
    book.save(path)
    read_operation(tmp_path, day=DAY)


# Input that keeps a reader busy


def _replacing(old: str, new: str) -> Callable[[str], str]:
    def change(xml: str) -> str:
        assert old in xml
        return xml.replace(old, new)

    return change


def _rewrite(path: Path, part: str, change: Callable[[str], str]) -> None:
    with zipfile.ZipFile(path) as archive:
        parts = {info.filename: archive.read(info) for info in archive.infolist()}
    parts[part] = change(parts[part].decode()).encode()
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in parts.items():
            archive.writestr(name, content)


def test_a_row_numbered_in_the_millions_is_refused_at_once(tmp_path: Path) -> None:
    path = _workbook(tmp_path, us_tables())
    _rewrite(
        path,
        "xl/worksheets/sheet1.xml",
        lambda xml: xml.replace('r="4"', 'r="900000000"').replace('A4"', 'A900000000"'),
    )
    problems = Problems()
    sheets = read_workbook(path, ("yards",), problems)
    assert [problem.code for problem in problems.found] == ["too_large"]
    assert not sheets["yards"].sound
    assert len(sheets["yards"].rows) == 2


def test_a_cell_in_the_last_column_there_can_be_costs_nothing(tmp_path: Path) -> None:
    path = _workbook(tmp_path, us_tables())
    book = _edit(path)
    book["yards"]["XFD2"] = "far out"
    book.save(path)
    sheet = read_workbook(path, ("yards",), Problems())["yards"]
    assert max(len(cells) for _, cells in sheet.rows) <= 256


def test_a_workbook_that_unpacks_without_end_is_refused_unread(tmp_path: Path) -> None:
    path = _workbook(tmp_path, us_tables())
    with (
        zipfile.ZipFile(path, "a", zipfile.ZIP_DEFLATED) as archive,
        archive.open("xl/huge.bin", "w") as part,
    ):
        for _ in range(140):
            part.write(bytes(2**20))
    problems = Problems()
    assert read_workbook(path, ("yards",), problems) == {}
    assert [problem.code for problem in problems.found] == ["too_large"]


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes in the file system here")
def test_a_table_that_is_a_pipe_is_refused_and_waited_for_by_nobody(tmp_path: Path) -> None:
    folder = write_folder(tmp_path, us_tables())
    (folder / "yards.csv").unlink()
    os.mkfifo(folder / "yards.csv")
    with pytest.raises(InputError, match=r"yards\.csv: .*a pipe"):
        read_operation(folder, day=DAY)


@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="no endless device here")
@pytest.mark.parametrize("name", ["yards.csv", "operation.toml", "bees.xlsx"])
def test_a_link_to_an_endless_device_is_refused(tmp_path: Path, name: str) -> None:
    folder = write_folder(tmp_path, us_tables())
    (folder / name).unlink(missing_ok=True)
    (folder / name).symlink_to("/dev/zero")
    assert _codes(folder) & {"unreadable_file", "broken_workbook"}


def test_a_table_larger_than_any_operation_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "yards.csv"
    with path.open("wb") as file:
        file.truncate(MOST_BYTES + 1)
    problems = Problems()
    assert not read_csv(path, problems).sound
    assert [problem.code for problem in problems.found] == ["too_large"]


def test_a_table_with_more_rows_than_any_operation_is_read_no_further(tmp_path: Path) -> None:
    path = tmp_path / "yards.csv"
    path.write_text("yard_id\n" + "a\n" * (MOST_ROWS + 5), encoding="utf-8")
    problems = Problems()
    sheet = read_csv(path, problems)
    assert (len(sheet.rows), sheet.sound) == (MOST_ROWS, False)
    assert [(problem.code, problem.row) for problem in problems.found] == [("too_large", MOST_ROWS + 2)]


def test_thousands_of_bad_rows_fill_no_memory_with_messages(tmp_path: Path) -> None:
    tables = us_tables()
    tables["yards"] = [{"yard_id": f"y{i}", "lat": "x", "lon": "y"} for i in range(3 * MOST_OF_A_KIND)]
    with pytest.raises(InputError) as error:
        read_operation(write_folder(tmp_path, tables), day=DAY)
    numbers = [problem for problem in error.value.problems if problem.code == "not_a_number"]
    assert len(numbers) == MOST_OF_A_KIND
    assert "the others are not listed" in numbers[-1].wrong


def test_a_quarantined_yard_stays_quarantined(tmp_path: Path) -> None:
    """The sound workbook, to show that the tests above break what works."""
    operation, _ = read_operation(_workbook(tmp_path, us_tables()).parent, day=DAY)
    assert operation.yards["ash"].health is Health.QUARANTINE


def test_a_column_in_another_unit_is_to_be_converted_not_renamed(tmp_path: Path) -> None:
    """Renamed, 500 quarts would have been 500 litres."""
    tables = us_tables()
    for row in tables["tanks"]:
        row["capacity_qt"] = 4 * row.pop("capacity_gal")
    with pytest.raises(InputError) as error:
        read_operation(write_folder(tmp_path, tables), day=DAY)
    told = " ".join(str(problem) for problem in error.value.problems)
    assert "convert capacity_qt to the unit of one of them" in told
    assert "did you mean capacity_l" not in told
