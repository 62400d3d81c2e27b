"""Tables given as data frames are read like the files they came from, and their mistakes are told."""

from __future__ import annotations

import tomllib
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from routing.domain.errors import FeedroundError, InputError
from routing.domain.operation import Operation
from routing.files.operation.folder import read_operation, read_sources
from routing.files.operation.frames import FrameSources, read_tables
from routing.files.problems.problems import Problems
from tests.support.folders import TOML_US, us_tables, write_folder

DEMOS = Path(__file__).parents[2] / "data_demo"


def _read(frames: dict[str, pd.DataFrame], settings: Any, path: Path | None = None) -> Operation:
    return read_sources(FrameSources(frames, settings, path, Problems()))[0]


def _frames() -> dict[str, pd.DataFrame]:
    return {name: pd.DataFrame(rows) for name, rows in us_tables().items()}


SETTINGS = tomllib.loads(TOML_US)


@pytest.mark.parametrize("name", ["sorrel_county", "saltbush_night"])
def test_tables_of_a_folder_read_as_frames_make_the_same_operation(name: str) -> None:
    folder = DEMOS / name
    assert _read(read_tables(folder), {}, folder) == read_operation(folder)[0]


def test_frames_alone_make_the_operation_that_their_files_make(tmp_path: Path) -> None:
    folder = write_folder(tmp_path / "farm", us_tables(), TOML_US)
    assert _read(_frames(), SETTINGS) == read_operation(folder)[0]


def test_cells_may_hold_what_pandas_and_numpy_make_of_them(tmp_path: Path) -> None:
    plain = _read(_frames(), SETTINGS)
    frames = _frames()
    colonies = frames["colonies"]
    colonies["date"] = pd.to_datetime(colonies["date"])
    colonies["colonies"] = colonies["colonies"].astype(np.float64)
    frames["yards"]["lat"] = frames["yards"]["lat"].astype("Float64")
    frames["yards"]["note"] = pd.Series([pd.NA] * len(frames["yards"]), dtype="string")
    assert _read(frames, SETTINGS) == plain


def test_a_frame_goes_before_the_file_and_a_setting_before_its_key_in_any_unit(tmp_path: Path) -> None:
    folder = write_folder(tmp_path / "farm", us_tables(), TOML_US)
    frames = read_tables(folder)
    trucks = frames["trucks"].assign(crew=np.int64(4))
    settings = {"feeding": {"target_stores_kg": 30.0}, "shift": {"max_h": np.float64(9.0)}}
    made = _read({"trucks": trucks}, settings, folder)
    assert {truck.crew for truck in made.trucks.values()} == {4}
    assert made.feeding.target_stores_kg == 30.0
    assert made.shift.max_s == 9 * 3600
    assert made.yards == read_operation(folder)[0].yards
    assert made.feeding.conversion == 0.8


def test_every_mistake_in_frames_is_told_at_once_with_its_row() -> None:
    frames = _frames()
    frames["trucks"]["gvwr_lb"] = frames["trucks"]["gvwr_lb"].astype(object)
    frames["trucks"].loc[0, "gvwr_lb"] = "heavy"
    frames["yards"].loc[1, "lat"] = np.nan
    del frames["stock"]
    with pytest.raises(InputError) as caught:
        _read(frames, SETTINGS)
    told = {problem.place for problem in caught.value.problems}
    assert {"trucks:2:gvwr_lb", "yards:3:lat", "stock"} <= told


def test_a_table_that_nothing_reads_is_refused_by_name() -> None:
    with pytest.raises(FeedroundError, match="hives: no such table: there are colonies, depots"):
        _read({**_frames(), "hives": pd.DataFrame()}, SETTINGS)


def test_numbers_come_out_as_numbers_and_ids_as_text(tmp_path: Path) -> None:
    tables = us_tables()
    for row in tables["yards"]:
        row["contact"] = "0031"
    folder = write_folder(tmp_path / "farm", tables, TOML_US)
    yards = read_tables(folder)["yards"]
    assert pd.api.types.is_float_dtype(yards["lat"])
    assert set(yards["contact"]) == {"0031"}
    assert date.fromisoformat(read_tables(folder)["colonies"]["date"].iloc[0])
