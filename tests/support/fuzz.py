"""Feed readers with damaged input: each must read it or refuse it in words, soon and in little memory."""

from __future__ import annotations

import json
import random
import shutil
import time
import zipfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from functools import partial
from io import BytesIO
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from routing.domain.errors import FeedroundError
from routing.domain.settings import TravelSettings
from routing.files.log.database import log_path
from routing.files.log.log import DayLog, read_log
from routing.files.log.sheet import read_sheet, sheet_csv
from routing.files.operation.folder import read_operation
from routing.files.plan.plan_json import dump_plan, load_plan
from routing.log.events import Event
from routing.log.facts import Arrived
from routing.travel.osm.read import read_extract
from routing.travel.server.server import server_travel
from tests.support.builders import small_case
from tests.support.fake_server import running
from tests.support.folders import TOML_US, metric_tables, us_tables, write_folder, write_workbook
from tests.support.osm_xml import write_osm
from tests.support.samples import operation, yard

DAY = date(2026, 9, 12)
TOKENS = (
    *(
        word.encode()
        for word in [
            "0",
            "-1",
            "1e308",
            "nan",
            "inf",
            "null",
            "true",
            "[]",
            "{}",
            '"',
            "'",
            ";",
            ",",
            "<",
            ">",
            "&#x0;",
            "<!--",
            "]]>",
            "=1+1",
            "%s",
            "é",
        ]
    ),
    *(b"", b"\t", b"\n", b"\r\n", b"\0", b"\xff\xfe", b"\xef\xbb\xbf", b"\xe9", "\u202e".encode()),
    *(b"2026-02-30", b"24:00", b"<f>1</f>", b"9" * 400, b"[" * 300, b"a." * 60, b"../../x"),
)


def damaged(data: bytes, chance: random.Random) -> bytes:
    """The data with one to six pieces flipped, cut, doubled, exchanged or put in."""
    out = bytearray(data)
    for _ in range(chance.randint(1, 6)):
        at = chance.randrange(len(out) + 1)
        to = min(len(out), at + chance.choice((1, 1, 2, 8, 60, 400)))
        match chance.randrange(6):
            case 0 if at < len(out):
                out[at] ^= 1 << chance.randrange(8)
            case 1:
                del out[at:to]
            case 2:
                out[at:at] = out[at:to] * chance.choice((1, 2, 30))
            case 3:
                out[at:to] = chance.choice(TOKENS)
            case 4:
                start = chance.randrange(len(out) + 1)
                out[at:at] = out[start : start + to - at]
            case _:
                out[at:at] = chance.choice(TOKENS)
    return bytes(out)


ODD_VALUES = (None, -1, 0, 1e308, 2**70, "", "x" * 2000, [], {}, True, "2026-09-28T99:00:00", "\ud800")


@dataclass
class Reader:
    """A reader under trial: sound input to damage, and how to have it read in a folder of its own."""

    name: str
    seeds: tuple[bytes, ...]
    read: Callable[[Path, bytes], object]
    damage: Callable[[bytes, random.Random], bytes] = damaged


@dataclass
class Outcome:
    """What came of the trials of one reader."""

    reader: str
    trials: int = 0
    read: int = 0
    refused: int = 0
    longest_s: float = 0.0
    faults: list[str] = field(default_factory=list)


def tried(reader: Reader, trials: int, seed: int, longest_s: float) -> Outcome:
    """Try a reader ``trials`` times. A fault is an error without words, or more than ``longest_s``."""
    outcome = Outcome(reader.name)
    with TemporaryDirectory() as folder:
        for number in range(trials):
            chance = random.Random(f"{reader.name} {seed} {number}")
            data = reader.damage(chance.choice(reader.seeds), chance)
            began = time.process_time()
            try:
                reader.read(Path(folder), data)
                outcome.read += 1
            except FeedroundError as error:
                outcome.refused += 1
                if not str(error).strip():
                    outcome.faults.append(f"seed {seed}, trial {number}: refused without a word")
            except Exception as error:
                outcome.faults.append(f"seed {seed}, trial {number}: {type(error).__name__}: {error!s:.150}")
            took_s = time.process_time() - began
            outcome.longest_s = max(outcome.longest_s, took_s)
            if took_s > longest_s:
                outcome.faults.append(f"seed {seed}, trial {number}: took {took_s:.1f} s")
            outcome.trials += 1
    return outcome


# The readers


def _table_reader(name: str) -> Reader:
    """One CSV table of a sound operation, in both unit families and with semicolons."""
    with TemporaryDirectory() as folder:
        texts = [
            (write_folder(Path(folder), t) / f"{name}.csv").read_bytes()
            for t in (us_tables(), metric_tables())
        ]
    semicolons = texts[1].replace(b";", b" ").replace(b",", b";").replace(b".", b",")

    def read(folder: Path, data: bytes) -> object:
        path = folder / "operation"
        if not path.exists():
            write_folder(path, us_tables())
        (path / f"{name}.csv").write_bytes(data)
        return read_operation(path, day=DAY)

    return Reader(f"csv {name}", (*texts, semicolons), read)


def _settings(folder: Path, data: bytes) -> object:
    path = folder / "operation"
    if not path.exists():
        write_folder(path, us_tables())
    (path / "operation.toml").write_bytes(data)
    return read_operation(path, day=DAY)


def _workbook_seed() -> bytes:
    with TemporaryDirectory() as folder:
        return write_workbook(Path(folder) / "book.xlsx", us_tables()).read_bytes()


def _workbook(folder: Path, data: bytes) -> object:
    path = folder / "operation"
    path.mkdir(exist_ok=True)
    (path / "operation.toml").write_text(TOML_US, encoding="utf-8")
    (path / "book.xlsx").write_bytes(data)
    return read_operation(path, day=DAY)


def _damaged_part(data: bytes, chance: random.Random) -> bytes:
    """A workbook with one of its parts damaged, packed anew; now and then the packed bytes themselves."""
    if chance.random() < 0.2:
        return damaged(data, chance)
    out = BytesIO()
    with zipfile.ZipFile(BytesIO(data)) as archive, zipfile.ZipFile(out, "w") as packed:
        names = archive.namelist()
        hit = chance.choice([name for name in names if "sheet" in name or "workbook" in name])
        for name in names:
            content = archive.read(name)
            packed.writestr(name, damaged(content, chance) if name == hit else content)
    return out.getvalue()


def _plan(folder: Path, data: bytes) -> object:
    path = folder / "plan.json"
    path.write_bytes(data)
    return load_plan(path)


def _damaged_values(data: bytes, chance: random.Random) -> bytes:
    """JSON with one to three of its values exchanged, so that most of it is still understood."""
    if chance.random() < 0.3:
        return damaged(data, chance)
    value = json.loads(data)
    for _ in range(chance.randint(1, 3)):
        holder, key = chance.choice(list(_leaves(value)))
        holder[key] = chance.choice(ODD_VALUES)
    return json.dumps(value).encode()


def _leaves(value: Any) -> Iterator[tuple[Any, Any]]:
    pairs = value.items() if isinstance(value, dict) else enumerate(value)
    for key, inner in list(pairs):
        yield value, key
        if isinstance(inner, dict | list):
            yield from _leaves(inner)


def _note_sheet(case: Any) -> Callable[[Path, bytes], object]:
    def read(folder: Path, data: bytes) -> object:
        path = folder / "notes.csv"
        path.write_bytes(data)
        return read_sheet(path, case.operation)

    return read


def _day_log(folder: Path, data: bytes) -> object:
    home = folder / "log"
    shutil.rmtree(home, ignore_errors=True)
    home.mkdir()
    log_path(home).write_bytes(data)
    log = read_log(home)
    if log is None:
        return None
    with log:
        return log.events()


def _day_log_seed(plan: Any) -> bytes:
    with TemporaryDirectory() as folder:
        path = log_path(Path(folder))
        with DayLog(path) as log:
            log.keep_plan(plan)
            for minute in range(8):
                at = datetime(2026, 9, 12, 14, minute, tzinfo=UTC)
                log.add(Event(f"note-{minute}", DAY, at, Arrived("yard:oak"), "T1"))
        return path.read_bytes()


def _extract_seed() -> bytes:
    points = {"a": (0, 0), "b": (1, 0), "c": (1, 1), "d": (2, 1)}
    ways = [
        ("abc", {"highway": "track", "maxweight": "7.5 t"}),
        ("cd", {"highway": "primary", "oneway": "yes"}),
    ]
    with TemporaryDirectory() as folder:
        path = write_osm(Path(folder) / "a.osm", points, ways, no_turns=[(0, "c", 1, "no_left_turn")])
        return path.read_bytes()


def _extract(folder: Path, data: bytes) -> object:
    path = folder / "county.osm"
    path.write_bytes(data)
    return read_extract(path)


def readers() -> list[Reader]:
    """Every reader of files, by name."""
    case = small_case()
    plan = dump_plan(case.plan).encode()
    tables = [_table_reader(name) for name in us_tables()]
    return [
        *tables,
        Reader("operation.toml", (TOML_US.encode(),), _settings),
        Reader("workbook", (_workbook_seed(),), _workbook, _damaged_part),
        Reader("plan.json", (plan,), _plan, _damaged_values),
        Reader("note sheet", (sheet_csv(case.operation, case.plan).encode(),), _note_sheet(case)),
        Reader("day log", (_day_log_seed(case.plan),), _day_log),
        Reader("extract", (_extract_seed(),), _extract),
    ]


def server_answers(kind: str, trials: int, seed: int) -> Outcome:
    """A routing server whose every answer is damaged: a table, or a refusal in words."""
    outcome = Outcome(f"server {kind}")
    yards = [yard("Y0", 46.9, -100.9), yard("Y1", 46.7, -100.6)]
    with running() as fake:
        settings = TravelSettings(
            method="server", server_url=fake.url, server_kind=kind, server_timeout_s=2.0
        )
        asked = operation(yards, travel=settings)
        for number in range(trials):
            chance = random.Random(f"{kind} {seed} {number}")
            fake.spoil = partial(_spoiled, chance=chance)
            began = time.process_time()
            try:
                server_travel(asked)
                outcome.read += 1
            except FeedroundError:
                outcome.refused += 1
            except Exception as error:
                outcome.faults.append(f"seed {seed}, trial {number}: {type(error).__name__}: {error!s:.150}")
            outcome.longest_s = max(outcome.longest_s, time.process_time() - began)
            outcome.trials += 1
    return outcome


def _spoiled(answer: Any, chance: random.Random) -> Any:
    return json.loads(_damaged_json(json.dumps(answer).encode(), chance))


def _damaged_json(data: bytes, chance: random.Random) -> bytes:
    for _ in range(20):
        spoiled = _damaged_values(data, chance)
        try:
            json.loads(spoiled)
        except ValueError:
            continue
        return spoiled
    return b"null"
