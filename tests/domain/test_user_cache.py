"""What is kept for the user is neither read nor written where others could have put it."""

from __future__ import annotations

import logging
import os
from pathlib import Path

import pytest

from routing.domain.user_cache import own_folder

POSIX = pytest.mark.skipif(not hasattr(os, "getuid"), reason="owners and modes are those of POSIX")
ROOT_ONLY = pytest.mark.skipif(
    not hasattr(os, "getuid") or os.getuid() != 0, reason="only root gives files away"
)


def test_a_folder_is_made_for_its_owner_alone(tmp_path: Path) -> None:
    folder = own_folder(tmp_path / "a" / "kept")
    assert folder == (tmp_path / "a" / "kept").resolve()
    assert folder.is_dir()
    if hasattr(os, "getuid"):
        assert folder.stat().st_mode & 0o077 == 0


@POSIX
@pytest.mark.parametrize("part", ["above", "above/kept"])
@pytest.mark.parametrize("mode", [0o777, 0o757])
def test_a_folder_that_others_may_write_to_is_refused_with_a_word(
    tmp_path: Path, caplog: pytest.LogCaptureFixture, part: str, mode: int
) -> None:
    (tmp_path / "above" / "kept").mkdir(parents=True)
    (tmp_path / part).chmod(mode)
    with caplog.at_level(logging.WARNING):
        assert own_folder(tmp_path / "above" / "kept") is None
        assert own_folder(tmp_path / "above" / "kept") is None
    assert len(caplog.records) == 1
    assert f"{(tmp_path / part).resolve()} can be written to by other users" in caplog.text
    assert "chmod go-w" in caplog.text


@ROOT_ONLY
@pytest.mark.parametrize("part", ["above", "above/kept"])
def test_a_folder_of_another_user_is_refused(tmp_path: Path, part: str) -> None:
    (tmp_path / "above" / "kept").mkdir(parents=True)
    os.chown(tmp_path / part, 12345, 12345)
    assert own_folder(tmp_path / "above" / "kept") is None


@ROOT_ONLY
def test_a_folder_that_a_shared_group_may_write_to_is_refused(tmp_path: Path) -> None:
    folder = tmp_path / "kept"
    folder.mkdir()
    os.chown(folder, 0, 100)
    folder.chmod(0o775)
    assert own_folder(folder) is None


@POSIX
def test_a_sticky_folder_above_is_no_fault_but_a_sticky_cache_is(tmp_path: Path) -> None:
    shared = tmp_path / "shared"
    shared.mkdir()
    shared.chmod(0o1777)
    assert own_folder(shared / "kept") is not None
    assert own_folder(shared) is None


@POSIX
def test_a_link_is_judged_by_where_it_leads(tmp_path: Path) -> None:
    (tmp_path / "open").mkdir()
    (tmp_path / "open").chmod(0o777)
    (tmp_path / "link").symlink_to(tmp_path / "open")
    assert own_folder(tmp_path / "link") is None


def test_a_file_in_the_way_is_no_folder(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    assert own_folder(tmp_path / "file") is None
    assert own_folder(tmp_path / "file" / "kept") is None
