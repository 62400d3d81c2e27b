"""The search is compiled before the first plan on a computer, which is told, and may be stopped."""

from __future__ import annotations

from dataclasses import replace

import pytest

from routing.app.cli.shared.screen import progress
from routing.app.workflow.workflow import PREPARING_WORDS, best_so_far
from routing.planning.run import prepare as module
from routing.planning.run.solve import Progress


def test_nothing_is_told_where_the_search_is_ready() -> None:
    told: list[Progress] = []
    assert module.prepare(told.append) == ()
    assert told == []


def test_who_waits_for_the_compiler_is_told_so(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(module, "can_be_made", lambda: True)
    monkeypatch.setattr(module, "make", lambda hear: hear(0.5) or "")
    told: list[Progress] = []
    assert module.prepare(told.append) == ()
    assert [best_so_far(p) for p in told] == [PREPARING_WORDS, f"{PREPARING_WORDS}: 50 %"]
    with progress("reading") as say:
        say("insertion: 1,847 to beat")
        say(PREPARING_WORDS)
    # Not a terminal: what changes all the time is left out, what takes a minute is not.
    assert PREPARING_WORDS in capsys.readouterr().err
    assert "insertion" in best_so_far(replace(told[0], stage="insertion"))


def test_a_compiler_that_fails_costs_a_warning(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "can_be_made", lambda: True)
    monkeypatch.setattr(module, "make", lambda _hear: "no room on the disk")
    (warning,) = module.prepare(None)
    assert "no room on the disk" in warning


def test_stopped_while_preparing_the_day_is_planned_by_the_plain_code(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def stopped(_hear: object) -> str:
        raise KeyboardInterrupt

    monkeypatch.setattr(module, "can_be_made", lambda: True)
    monkeypatch.setattr(module, "make", stopped)
    (warning,) = module.prepare(None)
    assert "the slower one was used (stopped by hand; the next plan prepares it again)" in warning


def test_a_replan_that_cannot_wait_says_what_it_lacks(monkeypatch: pytest.MonkeyPatch) -> None:
    assert module.not_prepared() == ()
    monkeypatch.setattr(module, "can_be_made", lambda: True)
    assert "not prepared" in module.not_prepared()[0]
