"""The table of reliability is made by its command, and a fault ends it with 1."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest

from benchmarks import reliability

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork and kill -9")


@pytest.mark.parametrize("faults", [(), ("a note is gone",)])
def test_the_table_is_written_and_a_fault_is_told(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    faults: tuple[str, ...],
) -> None:
    page = tmp_path / "page.md"
    page.write_text("# Words\n")
    monkeypatch.setattr(reliability, "PAGE", page)
    monkeypatch.setattr(sys, "argv", ["reliability", "--kills", "9"])
    monkeypatch.setattr(
        reliability, "kills", lambda home, trials, seed: [reliability.Row("notes", trials, 8, 1, faults)]
    )
    assert reliability.main() == len(faults)
    text = page.read_text()
    assert f"| notes | 9 | 8 | 1 | {len(faults)} |" in text
    assert text.count("every call in turn") == 3
    assert [line.split("|")[-2].strip() for line in text.splitlines() if "in turn" in line] == ["0"] * 3
    assert all(fault in capsys.readouterr().out for fault in faults)
