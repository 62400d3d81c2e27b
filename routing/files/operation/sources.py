"""Find the files of an operation: a folder of CSV files, a workbook, or both."""

from __future__ import annotations

from pathlib import Path

from routing.files.columns.all_tables import TABLES
from routing.files.columns.column import Table
from routing.files.problems.problems import Problems, nearest
from routing.files.settings.file import SettingsSource, read_settings_sheet, read_toml
from routing.files.settings.values import Settings
from routing.files.tables.tables import Sheet, read_csv
from routing.files.tables.workbook import read_workbook
from routing.files.writing.manifest import read_manifest

SETTINGS_FILE = "operation.toml"
SETTINGS_SHEET = "operation"
_OPTIONAL = ("tanks",)


class Sources:
    """Where each table comes from. A CSV file goes before a sheet of the same name."""

    def __init__(self, path: Path, problems: Problems) -> None:
        self.problems = problems
        self.folder = path
        self.name = path.resolve().name
        self.sheets: dict[str, Sheet] = {}
        self.files: list[str] = []
        if path.is_file() and path.suffix.lower() in (".xlsx", ".xlsm"):
            self.folder, self.name = path.parent, path.stem
            self._open(path)
        elif path.is_dir():
            self._look(path)
        else:
            problems.add(
                "missing_folder",
                path.name,
                0,
                "",
                path,
                "there is no such folder or .xlsx workbook",
                "name the folder that holds operation.toml",
            )

    def _look(self, path: Path) -> None:
        try:
            self.files = sorted(item.name for item in path.iterdir())
        except OSError as error:
            self.problems.add(
                "unreadable_file",
                path.name,
                0,
                "",
                path,
                f"the folder cannot be opened ({error.strerror})",
                "check that you may read it",
            )
            return
        # A spreadsheet program leaves a lock file beside an open workbook, a plan a table of its stops.
        ours = read_manifest(path)
        books = [f for f in self.files if f.lower().endswith(".xlsx") and not f.startswith(("~$", "."))]
        books = [f for f in books if f not in ours]
        lacking = [t for t in TABLES if t.file not in self.files and t.name not in _OPTIONAL]
        if len(books) == 1:
            self._open(path / books[0])
        elif books and lacking:
            self.problems.add(
                "several_workbooks",
                path.name,
                0,
                "",
                ", ".join(books),
                "more than one workbook lies in the folder",
                "leave one, or name the one to read",
            )

    def _open(self, path: Path) -> None:
        wanted = (*(table.name for table in TABLES), SETTINGS_SHEET)
        self.sheets = read_workbook(path, wanted, self.problems)

    def settings(self) -> SettingsSource | None:
        """The keys of operation.toml, or of the sheet ``operation``."""
        path = self.folder / SETTINGS_FILE
        if path.exists():
            return read_toml(path, self.problems)
        if SETTINGS_SHEET in self.sheets:
            return read_settings_sheet(self.sheets[SETTINGS_SHEET], self.problems)
        self._missing(SETTINGS_FILE, "the settings of the operation")
        return None

    def sheet(self, table: Table) -> Sheet:
        """The text of one table."""
        from_book = self.sheets.get(table.name)
        if table.file in self.files:
            if from_book is not None:
                self.problems.warn(
                    "two_sources",
                    table.file,
                    0,
                    "",
                    from_book.file,
                    "the table is there as CSV and as a sheet; the CSV is used",
                    "remove one of them",
                )
            return read_csv(self.folder / table.file, self.problems)
        if from_book is not None:
            return from_book
        if table.name not in _OPTIONAL:
            self._missing(table.file, table.meaning)
            return Sheet(table.file, sound=False)
        return Sheet(table.file, headers=[name for c in table.columns for name in c.headers[:1]])

    def _missing(self, file: str, meaning: str) -> None:
        known = {SETTINGS_FILE, *(table.file for table in TABLES)}
        hint = nearest(file, [name for name in self.files if name not in known])
        what = meaning.partition(":")[0]
        self.problems.add(
            "missing_file",
            file,
            0,
            "",
            "",
            f"the file is missing ({what})",
            hint or f"add {file} to the folder",
        )

    def check_travel(self, settings: Settings) -> None:
        """The file or address that the way of travelling needs is there."""
        travel = settings.groups["travel"]
        found = (self.folder / travel.extract).exists() if travel.extract else False
        if travel.method in ("roads", "engine") and not found:
            self.problems.add(
                "missing_extract",
                settings.file,
                settings.row("travel.extract"),
                "travel.extract",
                travel.extract,
                "there is no such file, seen from the operation folder",
                'name the road graph (roads) or the extract (engine), or write method = "straight"',
            )
        if travel.method == "server" and not travel.server_url:
            self.problems.add(
                "missing_server",
                settings.file,
                settings.row("travel.method"),
                "travel.server_url",
                "",
                "method is server, and no address is given",
                'write server_url, or method = "straight"',
            )
