"""Ctrl-C while the command line still loads is answered by a line, not by a traceback."""

from __future__ import annotations

import pytest

from routing.app import start
from routing.app.cli import cli


def test_ctrl_c_at_any_moment_is_answered_by_a_line(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def pressed() -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(cli, "main", pressed)
    with pytest.raises(SystemExit) as end:
        start.main()
    assert end.value.code == cli.NO_PLAN == start.STOPPED
    assert capsys.readouterr().err == "Interrupted before it was finished.\n"
