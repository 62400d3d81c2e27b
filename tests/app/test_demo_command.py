"""The demo runs from nothing and leaves a map, sheets and an operation to play with."""

from __future__ import annotations

from pathlib import Path

import pytest

from routing.app.workflow import demo as demo_module
from tests.support.face import DEMO, as_user, feedround


def test_demo_copies_plans_and_says_where_the_map_is(tmp_path: Path) -> None:
    ran = as_user("demo", "--seconds", "1", "--out", "d", cwd=tmp_path)
    assert ran.code in (0, 1)
    assert "d/map.html" in ran.out
    assert (tmp_path / "d" / "map.html").stat().st_size > 50_000
    files = (tmp_path / "d" / "operation").glob("[!.]*")
    copied = {file.name: file.read_bytes() for file in files}
    kinds = (".csv", ".toml", ".bz2")
    assert copied == {f.name: f.read_bytes() for f in DEMO.iterdir() if f.suffix in kinds}


def test_demo_into_a_place_that_is_a_file_is_refused(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("mine")
    ran = feedround("demo", "--out", tmp_path / "file")
    assert ran.code == 2
    assert "choose another --out" in ran.err


def test_an_installation_without_the_demo_says_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(demo_module, "DEMO", "no_such_county")
    ran = feedround("demo", "--out", tmp_path)
    assert ran.code == 2
    assert "reinstall feedround" in ran.err
