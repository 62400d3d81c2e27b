"""Whatever is in the files, reading ends in an operation or in messages, never in a traceback."""

from __future__ import annotations

import shutil
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routing.domain.errors import InputError, InputProblem
from routing.files.columns.all_tables import TABLES
from routing.files.columns.settings import SECTIONS
from routing.files.operation.folder import read_operation
from tests.support.folders import TOML_US, Rows, us_tables, write_folder, write_workbook

DAY = date(2026, 9, 12)
FILES = [table.file for table in TABLES] + ["operation.toml"]
_ODD_TEXT = """
    -1 0 -0 1e308 1e-308 nan 24:00 00:00-24:00 25:00-26:00 2026-02-30 9999-12-31 2026-01-01/2199-01-01
    yes T1;T2 oak home thick =1+1 " ;
"""
ODD_CELLS = _ODD_TEXT.split()
CELLS = st.one_of(
    st.text(max_size=12),
    st.floats().map(str),
    st.integers().map(str),
    st.sampled_from(["", "a" * 200_000, *ODD_CELLS]),
)
HEADERS = sorted({header for table in TABLES for header in table.by_header})


def reads_or_refuses(path: Path) -> None:
    problems: tuple[InputProblem, ...]
    try:
        operation, problems = read_operation(path, day=DAY)
    except InputError as error:
        operation, problems = None, error.problems
    errors = [problem for problem in problems if problem.severity == "error"]
    assert bool(errors) == (operation is None)
    assert all("\n" not in str(problem) for problem in problems)


@given(name=st.sampled_from(FILES), content=st.binary(max_size=400))
def test_any_bytes_in_any_file(name: str, content: bytes) -> None:
    with TemporaryDirectory() as folder:
        path = write_folder(Path(folder), us_tables())
        (path / name).write_bytes(content)
        reads_or_refuses(path)


@settings(max_examples=300)
@given(data=st.data())
def test_any_cell_in_any_column(data: st.DataObject) -> None:
    tables = us_tables()
    for _ in range(data.draw(st.integers(1, 4))):
        table = data.draw(st.sampled_from(TABLES))
        rows: Rows = tables[table.name]
        row = data.draw(st.sampled_from(rows))
        row[data.draw(st.sampled_from(sorted(table.by_header)))] = data.draw(CELLS)
    with TemporaryDirectory() as folder:
        reads_or_refuses(write_folder(Path(folder), tables))


@given(table=st.sampled_from(TABLES), rows=st.lists(st.lists(CELLS, max_size=6), max_size=4))
def test_any_table_of_cells_under_any_headers(table: object, rows: list[list[str]]) -> None:
    tables = us_tables()
    tables[table.name] = [dict(zip(HEADERS[i:], row, strict=False)) for i, row in enumerate(rows)]  # type: ignore[attr-defined]
    with TemporaryDirectory() as folder:
        reads_or_refuses(write_folder(Path(folder), tables))


VALUES = st.one_of(
    st.text(max_size=10).map(lambda text: repr(text).replace("'", '"') if '"' not in text else '""'),
    st.integers().map(str),
    st.floats().map(lambda x: str(x)),
    st.sampled_from(
        ["true", "[]", "{}", "[1, 2]", "06:30:00", "2026-09-12", "2026-09-12T01:00:00Z", '"06:00"']
    ),
)


@settings(max_examples=300)
@given(
    section=st.sampled_from(sorted(SECTIONS)),
    number=st.integers(0, 40),
    value=VALUES,
)
def test_any_value_of_any_setting(section: str, number: int, value: str) -> None:
    keys = sorted(SECTIONS[section].by_header)
    key = keys[number % len(keys)]
    kept = [line for line in TOML_US.splitlines() if not line.startswith(f"{key} ")]
    if f"[{section}]" not in kept:
        kept.append(f"[{section}]")
    kept.insert(kept.index(f"[{section}]") + 1, f"{key} = {value}")
    with TemporaryDirectory() as folder:
        reads_or_refuses(write_folder(Path(folder), us_tables(), "\n".join(kept)))


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    path = write_workbook(tmp_path_factory.mktemp("book") / "book.xlsx", us_tables())
    return path.read_bytes()


@settings(max_examples=60)
@given(
    cut=st.integers(0, 8000), flips=st.lists(st.tuples(st.integers(0, 8000), st.integers(1, 255)), max_size=6)
)
def test_a_damaged_workbook(book: bytes, cut: int, flips: list[tuple[int, int]]) -> None:
    content = bytearray(book)
    for at, mask in flips:
        content[at % len(content)] ^= mask
    with TemporaryDirectory() as folder:
        path = Path(folder)
        (path / "operation.toml").write_text(TOML_US)
        (path / "book.xlsx").write_bytes(bytes(content[: max(cut, len(content) - cut)]))
        reads_or_refuses(path)


def test_odd_cells_of_a_workbook(tmp_path: Path) -> None:
    odd = [True, 10**30, -1.5, 1e300, "#N/A", "=1/0", date(1900, 1, 1), "\u202e", None]
    for number, value in enumerate(odd):
        tables = us_tables()
        for rows in tables.values():
            for header in list(rows[0]):
                rows[0][header] = value
        path = tmp_path / str(number)
        path.mkdir()
        (path / "operation.toml").write_text(TOML_US)
        write_workbook(path / "book.xlsx", tables)
        reads_or_refuses(path)
        shutil.rmtree(path)
