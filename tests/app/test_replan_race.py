"""Of two re-plans of one day only one takes the place of the plan; the other is told."""

from __future__ import annotations

import os
import subprocess
import sys
from datetime import date, time
from pathlib import Path

import pytest

from routing.app.workflow import outputs
from routing.app.workflow.replanning import propose_replan, record_replan
from routing.domain.errors import FeedroundError
from routing.files.log.log import DayLog, log_path
from routing.log.facts import Planned
from routing.planning.run.solve import SolveOptions
from tests.app.test_note import DAY, Phone, phone, planned
from tests.support.face import ROOT, feedround

__all__ = ["phone", "planned"]

QUICK = SolveOptions(None, 3, 1, workers=1)


def _propose(phone: Phone):  # type: ignore[no-untyped-def]
    return propose_replan(phone.folder, date.fromisoformat(DAY), time(9, 0), QUICK)


def _plans(folder: Path) -> list[str]:
    with DayLog(log_path(folder)) as log:
        return [e.fact.plan_id for e in log.events() if isinstance(e.fact, Planned)]


def test_of_two_re_plans_at_once_the_second_is_refused(phone: Phone) -> None:
    phone.note("skipped", "oak", "gate", "-t", "T1", "-a", "08:30")
    first, second = _propose(phone), _propose(phone)
    assert first.before.plan_id == second.before.plan_id
    record_replan(phone.folder, first)
    before = _plans(phone.folder)
    with pytest.raises(
        FeedroundError, match=f"plan {first.planned.plan.plan_id} was noted meanwhile"
    ) as told:
        record_replan(phone.folder, second)
    assert "Run it again: it goes on from there" in str(told.value)
    assert _plans(phone.folder) == before
    again = _propose(phone)
    assert again.before.plan_id == first.planned.plan.plan_id
    record_replan(phone.folder, again)


def test_a_re_plan_that_knows_less_than_the_log_is_refused(phone: Phone) -> None:
    made = _propose(phone)
    phone.note("fed", "elm", "16/30gal", "-t", "T1", "-a", "08:40")
    with pytest.raises(FeedroundError, match=r"1 note came in meanwhile \(fed\)"):
        record_replan(phone.folder, made)
    assert len(_plans(phone.folder)) == 1


def test_a_refused_re_plan_changes_no_file(phone: Phone, monkeypatch: pytest.MonkeyPatch) -> None:
    out = phone.folder.parent / "rest"
    words = ("replan", phone.folder, "--date", DAY, "--now", "09:00", "--iterations", "3", "--out", out)
    assert feedround(*words).code in (0, 1)
    before = {path.name: path.read_bytes() for path in out.iterdir()}
    real = outputs.map_html

    def overtaken(*args: object) -> str:
        record_replan(phone.folder, _propose(phone))
        return real(*args)  # type: ignore[arg-type]

    monkeypatch.setattr(outputs, "map_html", overtaken)
    ran = feedround(*words)
    assert ran.code == 2
    assert "was noted meanwhile" in ran.err
    assert {path.name: path.read_bytes() for path in out.iterdir()} == before


def test_a_re_plan_whose_files_could_not_be_put_says_that_it_is_noted(
    phone: Phone, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = phone.folder.parent / "rest"
    out.mkdir()
    real, moves = os.replace, []

    def stuck(source: object, target: object) -> None:
        moves.append(target)
        if str(target).endswith("plan.json"):
            raise PermissionError(13, "Permission denied")
        real(source, target)  # type: ignore[arg-type]

    monkeypatch.setattr(os, "replace", stuck)
    ran = feedround(
        "replan", phone.folder, "--date", DAY, "--now", "09:00", "--iterations", "3", "--out", out
    )
    assert ran.code == 2
    assert "is recorded; only its files are missing" in ran.err
    assert [path.name for path in out.iterdir() if not path.name.startswith(".")] == []
    assert len(_plans(phone.folder)) == 2


def test_a_folder_that_cannot_be_written_is_refused_before_anything_is_noted(phone: Phone) -> None:
    out = phone.folder.parent / "file"
    out.write_text("mine")
    ran = feedround("replan", phone.folder, "--date", DAY, "--now", "09:00", "--out", out)
    assert ran.code == 2
    assert "is a file" in ran.err
    assert len(_plans(phone.folder)) == 1


@pytest.mark.parametrize("code", [0, 1])
def test_ctrl_c_when_all_is_done_changes_nothing(code: int) -> None:
    """A press while the interpreter shuts down ended the process by the signal."""
    text = (
        "import atexit, signal, sys\n"
        "from unittest import mock\n"
        "atexit.register(signal.raise_signal, signal.SIGINT)\n"
        "from routing.app.cli import cli\n"
        f"cli.main = lambda: sys.exit({code})\n"
        "from routing.app.start import main\n"
        "main()\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", text], capture_output=True, text=True, cwd=ROOT, timeout=60, check=False
    )
    assert (done.returncode, done.stderr) == (code, "")


def test_ctrl_c_while_the_summary_is_shown_tells_that_all_files_are_there(
    phone: Phone, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    from routing.reports.terminal import terminal

    def pressed(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(terminal, "plan_summary", pressed)
    ran = feedround("plan", phone.folder, "--date", DAY, "--iterations", "3", "--out", tmp_path / "o")
    assert ran.code in (0, 1)
    assert "all files of the plan are in" in ran.err
    assert (tmp_path / "o" / "plan.json").exists()


@pytest.mark.parametrize(
    "words",
    [
        ("check", "{}"), ("plan", "{}", "--date", DAY), ("audit", "{}", "{}"), ("note", "{}", "fed", "elm"),
        ("roads", "{}", "--out", "{}.roads"), ("record", "{}"), ("status", "{}", "--date", DAY),
    ],
    ids=lambda words: words[0],
)  # fmt: skip
def test_a_name_of_100_kb_is_refused_in_a_line(words: tuple[str, ...]) -> None:
    ran = feedround(*(word.format("n" * 100_000) for word in words))
    assert ran.code == 2
    assert "own fault" not in ran.err
    assert "Traceback" not in ran.err
