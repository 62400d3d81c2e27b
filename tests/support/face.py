"""Run the command line in this process, or as a user does, and see what comes out."""

from __future__ import annotations

import io
import os
import subprocess
import sys
from collections.abc import Mapping
from contextlib import redirect_stderr, redirect_stdout
from pathlib import Path
from typing import NamedTuple
from unittest import mock

from routing.app.cli.cli import main

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "data_demo" / "sorrel_county"
DATE = "2026-09-28"
QUICK = ("--iterations", "3")


class Ran(NamedTuple):
    """What a run ended with."""

    code: int
    out: str
    err: str


def feedround(*words: str | Path) -> Ran:
    """The command line with these words, in this very process."""
    out, err = io.StringIO(), io.StringIO()
    argv = ["feedround", *map(str, words)]
    with mock.patch.object(sys, "argv", argv), redirect_stdout(out), redirect_stderr(err):
        try:
            main()
            code = 0
        except SystemExit as end:
            code = end.code if isinstance(end.code, int) else 1
    return Ran(code, out.getvalue(), err.getvalue())


def as_user(*words: str | Path, env: Mapping[str, str] | None = None, cwd: Path | None = None) -> Ran:
    """The command line as a process of its own, writing into pipes."""
    code = "import sys; sys.argv[0] = 'feedround'; from routing.app.cli.cli import main; main()"
    done = subprocess.run(
        [sys.executable, "-c", code, *map(str, words)],
        capture_output=True, env={**os.environ, "PYTHONPATH": str(ROOT), **(env or {})}, cwd=cwd, timeout=120,
    )  # fmt: skip
    return Ran(done.returncode, done.stdout.decode(), done.stderr.decode())
