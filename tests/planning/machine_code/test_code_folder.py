"""Machine code is run: none is kept where anybody else may write."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from routing.planning.machine_code import code_folder as module
from routing.planning.machine_code.code_folder import can_be_made, code_folder, ready
from routing.planning.run.prepare import prepare

pytestmark = pytest.mark.skipif(not hasattr(os, "getuid"), reason="needs owners and modes of files")


@pytest.fixture
def home(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    """A cache of the user's own, with machine code in it."""
    made = tmp_path / "cache"
    monkeypatch.setenv("FEEDROUND_CACHE", str(made))
    monkeypatch.setattr(module, "code_folder", code_folder.__wrapped__)
    folder = module.code_folder()
    assert folder is not None
    (folder / "compiler").mkdir(mode=0o700, parents=True)
    folder.chmod(0o700)
    (folder / "compiler" / "entry.nbc").touch()
    (folder / "ready").write_text("compiler/entry.nbc")
    assert ready()
    return made


@pytest.mark.parametrize("part", ["../cache", "search-*", "search-*/compiler"])
def test_code_where_others_may_write_is_not_loaded(home: Path, part: str) -> None:
    (folder,) = home.glob(part)
    folder.chmod(0o777)
    assert not ready()


def test_a_cache_that_others_may_write_costs_a_warning_and_the_day_is_planned(
    home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from routing.planning.run import prepare as prepare_module

    home.chmod(0o777)
    monkeypatch.setattr(prepare_module, "code_folder", module.code_folder)
    assert not can_be_made()
    (warning,) = prepare(None)
    assert "other users may write to it" in warning


@pytest.mark.skipif(not hasattr(os, "getuid") or os.getuid() != 0, reason="only root gives files away")
def test_code_that_belongs_to_another_user_is_not_loaded(home: Path) -> None:
    (folder,) = home.glob("search-*")
    os.chown(folder, 12_345, -1)
    assert not ready()
