"""The same mistake in many rows is said once, with the rows; what a user typed is shown as typed."""

from __future__ import annotations

import io

from rich.console import Console

from routing.domain.errors import InputProblem
from routing.domain.operation import Counts
from routing.reports.terminal.terminal import print_problems
from routing.reports.words.problems import counts_text, grouped


def _bad_date(row: int, value: str = "x", severity: str = "error") -> InputProblem:
    wrong, remedy = "no date", "write 2026-09-12"
    return InputProblem("bad_date", "colonies.csv", row, "date", value, wrong, remedy, severity)


def test_many_rows_with_one_mistake_are_one_message() -> None:
    (group,) = grouped([_bad_date(row, f"d{row}") for row in (*range(2, 90), 95, 97)])
    assert str(group) == ("colonies.csv:date: 90 rows (2-89, 95, 97): such as d2: no date: write 2026-09-12")


def test_a_few_rows_are_listed_one_by_one() -> None:
    assert [str(group) for group in grouped([_bad_date(2), _bad_date(3)])] == [
        "colonies.csv:2:date: x: no date: write 2026-09-12",
        "colonies.csv:3:date: x: no date: write 2026-09-12",
    ]


def test_errors_and_warnings_are_never_one_group() -> None:
    assert len(grouped([_bad_date(2, severity="warning"), *(_bad_date(row) for row in range(3, 9))])) == 2


def test_row_100_is_no_picture() -> None:
    out = io.StringIO()
    print_problems([_bad_date(100, "[red]:bee:")], Console(file=out, width=200))
    assert "colonies.csv:100:date" in out.getvalue()
    assert "[red]:bee:" in out.getvalue()


def test_what_was_read_is_counted() -> None:
    assert counts_text(Counts(36, 1002, 2, 1)) == "Read 36 yards with 1,002 colonies, 2 trucks and 1 depot."
    assert counts_text(Counts(1, 1, 1, 2)) == "Read 1 yard with 1 colony, 1 truck and 2 depots."
