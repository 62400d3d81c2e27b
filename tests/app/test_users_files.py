"""What a user keeps beside feedround's files, or changed in them, is neither replaced nor removed."""

from __future__ import annotations

import shutil
from datetime import date
from pathlib import Path

import pytest

from routing.app.workflow import workflow
from routing.app.workflow.demo import copy_demo
from routing.domain.errors import FeedroundError
from routing.files.operation.folder import read_operation
from tests.app.test_note import DAY, Phone, phone, planned
from tests.support.face import QUICK, Ran, feedround
from tests.support.folders import TOML_US, us_tables, write_folder, write_workbook
from tests.support.osm_xml import write_osm
from tests.support.road_maps import ROAD

__all__ = ["phone", "planned"]


@pytest.fixture(scope="module")
def farm(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_folder(tmp_path_factory.mktemp("users") / "farm", us_tables(), TOML_US)


@pytest.fixture(scope="module")
def once(farm: Path) -> Path:
    """What one plan leaves; copied by every test."""
    out = farm.parent / "once"
    assert _plan(farm, out).code in (0, 1)
    return out


@pytest.fixture
def out(once: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(once, tmp_path / "o1"))


def _plan(folder: Path, out: Path) -> Ran:
    return feedround("plan", folder, "--date", DAY, "--out", out, *QUICK)


def test_sheets_that_are_not_ours_stay_when_a_day_is_planned_again(farm: Path, out: Path) -> None:
    theirs = {"run_sheet_T1_signed.pdf": b"signed", "run_sheet_old_crew.html": b"<p>ours since 2019"}
    for name, content in theirs.items():
        (out / name).write_bytes(content)
    assert _plan(farm, out).code in (0, 1)
    assert {name: (out / name).read_bytes() for name in theirs} == theirs
    assert (out / "run_sheet_T1.pdf").exists()


def test_a_sheet_that_was_written_on_stops_the_next_plan_before_it_is_made(farm: Path, out: Path) -> None:
    sheet = out / "run_sheet_T1.html"
    sheet.write_text("filled in by hand")
    before = {path.name: path.read_bytes() for path in out.iterdir()}
    ran = _plan(farm, out)
    assert ran.code == 2
    assert "run_sheet_T1.html was changed since feedround wrote it" in ran.err
    assert "Move or rename what you want to keep, or choose another --out" in ran.err
    assert {path.name: path.read_bytes() for path in out.iterdir()} == before


def test_the_sheet_of_a_truck_that_stays_at_home_goes(farm: Path, out: Path) -> None:
    home = write_folder(out.parent / "other", us_tables(), TOML_US)
    for table in ("trucks", "tanks"):
        path = home / f"{table}.csv"
        path.write_text(path.read_text().replace("T1", "T9"))
    assert _plan(home, out).code in (0, 1)
    assert {path.name for path in out.glob("run_sheet_*")} == {"run_sheet_T9.html", "run_sheet_T9.pdf"}


def test_an_operation_in_a_workbook_is_not_broken_by_its_own_plan(tmp_path: Path) -> None:
    folder = tmp_path / "wb"
    folder.mkdir()
    write_workbook(folder / "bees.xlsx", us_tables())
    (folder / "operation.toml").write_text(TOML_US, encoding="utf-8")
    first = _plan(folder, folder)
    assert first.code in (0, 1), first.err
    assert (folder / "stops.xlsx").exists()
    read_operation(folder, day=date.fromisoformat(DAY))
    again = _plan(folder, folder)
    assert again.code == first.code, again.err


def test_a_filled_in_sheet_is_not_written_over(phone: Phone) -> None:
    file = phone.folder.parent / "sheet.csv"
    phone.note("sheet", "--out", str(file))
    phone.note("sheet", "--out", str(file))  # nothing is in it yet
    filled = file.read_text(encoding="utf-8").replace(",elm,", ",elm,", 1) + "T1,9,yard,elm\n"
    file.write_text(filled, encoding="utf-8")
    told = phone.note("sheet", "--out", str(file), code=2)
    assert "sheet.csv was changed since feedround wrote it" in told
    assert file.read_text(encoding="utf-8") == filled


@pytest.mark.parametrize("name", ["yards.csv", "operation.toml", "stock.csv"])
def test_no_verb_writes_over_an_input_table(phone: Phone, tmp_path: Path, name: str) -> None:
    table = phone.folder / name
    before = table.read_bytes()
    extract = write_osm(tmp_path / "a.osm", {"a": (0, 1), "b": (1, 1)}, [("ab", ROAD)])
    for words in (
        ("note", phone.folder, "sheet", "--out", table, "--date", DAY),
        ("record", phone.folder, "--out", table),
        ("roads", extract, "--out", table),
    ):
        ran = feedround(*words)
        assert ran.code == 2, words
        assert "is the name of an input file" in ran.err
    assert table.read_bytes() == before


def test_a_road_graph_takes_the_place_of_an_earlier_one_alone(tmp_path: Path) -> None:
    extract = write_osm(tmp_path / "a.osm", {"a": (0, 1), "b": (1, 1)}, [("ab", ROAD)])
    out = tmp_path / "county.roads"
    for _ in range(2):
        assert feedround("roads", extract, "--out", out).code == 0
    letter = tmp_path / "letter.txt"
    letter.write_text("dear neighbour")
    ran = feedround("roads", extract, "--out", letter)
    assert ran.code == 2
    assert "not a road graph" in ran.err
    assert letter.read_text() == "dear neighbour"


def test_a_record_that_was_written_in_is_kept(phone: Phone) -> None:
    phone.note("fed", "elm", "16/30gal", "-t", "T1", "-a", "10:40")
    out = phone.folder.parent / "feed_record.csv"
    for _ in range(2):
        phone.type("record", str(phone.folder), "--out", str(out))
    with out.open("a", encoding="utf-8") as file:
        file.write("2026-09-29,by hand\n")
    before = out.read_bytes()
    told = phone.type("record", str(phone.folder), "--out", str(out), "--replace", code=2)
    assert "feed_record.csv was changed since feedround wrote it" in told
    assert out.read_bytes() == before


def test_a_demo_that_somebody_works_in_is_not_written_over(tmp_path: Path) -> None:
    folder = copy_demo(tmp_path / "operation")
    copy_demo(folder)
    table = folder / "yards.csv"
    table.write_text(table.read_text(encoding="utf-8") + "\n", encoding="utf-8")
    with pytest.raises(FeedroundError, match=r"yards\.csv was changed since feedround wrote it"):
        copy_demo(folder)
    assert workflow.gather(folder).operation.yards
