"""Read an operation, from a folder of CSV files or a workbook, and report all its problems at once."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from routing.domain.errors import InputProblem
from routing.domain.operation import Operation
from routing.files.columns.all_tables import TABLES
from routing.files.operation.build import build_operation
from routing.files.operation.check_colonies import (
    check_age,
    check_inspected,
    check_stores,
    name_groups,
    newest,
)
from routing.files.operation.check_coordinates import check_coordinates
from routing.files.operation.check_fleet import check_supplies, check_trucks
from routing.files.operation.check_hours import check_dates, check_windows, truck_shifts
from routing.files.operation.references import check_doubled, check_references, names_to_ids, usual_syrup
from routing.files.operation.sources import Sources
from routing.files.problems.problems import Problems
from routing.files.settings.values import Settings, read_settings
from routing.files.tables.records import Records
from routing.files.tables.row_reader import read_records


def read_operation(path: Path, *, day: date | None = None) -> tuple[Operation, tuple[InputProblem, ...]]:
    """The operation in a folder or a workbook, and the warnings about it.

    ``path`` is a folder with operation.toml and CSV files, or with one .xlsx in place of any of them, or
    the .xlsx itself with operation.toml beside it or in its sheet ``operation`` (columns section, key,
    value). ``day`` is the feeding date by which inspections are called too old or too new; without it
    the newest inspection is the measure. Raises ``InputError`` with everything found when any of it is
    an error.
    """
    problems = Problems()
    return read_sources(Sources(Path(path), problems), day=day)


def read_sources(sources: Sources, *, day: date | None = None) -> tuple[Operation, tuple[InputProblem, ...]]:
    """The same from sources that were found before."""
    problems = sources.problems
    problems.raise_errors()
    settings = read_settings(sources.settings(), sources.name, problems)
    tables = {table.name: read_records(table, sources.sheet(table), problems) for table in TABLES}
    operation = _check_and_build(tables, settings, day, sources, problems)
    problems.raise_errors()
    return operation, problems.warnings


def _check_and_build(
    tables: dict[str, Records], settings: Settings, day: date | None, sources: Sources, problems: Problems
) -> Operation:
    colonies, yards = tables["colonies"], tables["yards"]
    check_doubled(tables, problems)
    names_to_ids(tables)
    check_references(tables, problems)
    usual = usual_syrup(settings, tables, problems)
    check_coordinates(tables, settings.head.get("timezone"), problems)
    shifts = truck_shifts(tables["trucks"], settings, problems)
    check_dates(yards, problems)
    if settings.readable:
        check_windows(tables, shifts, problems)
    check_stores(colonies, problems)
    rows_of = newest(colonies)
    if settings.readable:
        check_age(colonies, rows_of, settings, day, problems)
    name_groups(colonies, rows_of, problems)
    check_inspected(yards, colonies, problems)
    check_trucks(tables, usual, problems)
    check_supplies(tables, settings, problems)
    sources.check_travel(settings)
    return build_operation(tables, settings, rows_of, usual, problems)
