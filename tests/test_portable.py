"""feedround needs no POSIX system: read from its source, for there is no Windows to try it on here."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from routing.domain.errors import FeedroundError
from routing.files.writing.staged import put_files
from tests.support.portable import needs_posix, violations

ROOT = Path(__file__).parent.parent


def test_nothing_needs_posix_alone() -> None:
    assert violations(ROOT / "routing") == []


PLANTED = {
    "import fcntl": "imports fcntl",
    "def f():\n    import resource": "imports resource",
    "from os import fork": "imports fork",
    "import os\nos.getuid()": "uses os.getuid",
    "import os\nos.killpg(1, 2)": "uses os.killpg",
    "import signal\nsignal.SIGKILL": "uses signal.SIGKILL",
    "import subprocess\nsubprocess.Popen([], preexec_fn=print)": "passes preexec_fn",
    "import os\nos.rename('a', 'b')": "calls rename",
    "path.rename(other)": "calls rename",
    "path.read_text()": "without an encoding",
    "open('x')": "without an encoding",
    "path.open()": "without an encoding",
    "multiprocessing.get_context('fork')": "by fork",
    "x = '/tmp/plans'": "names /tmp/plans",
}
SOUND = (
    "import os\ndef f():\n    return os.getuid() if hasattr(os, 'getuid') else 0",
    "import os\nos.replace('a', 'b')\nos.open('a', os.O_RDONLY)",
    "import signal\nsignal.signal(signal.SIGINT, signal.SIG_IGN)",
    "open('x', 'rb')\nopen('x', encoding='utf-8')\npath.open('rb')",
)


@pytest.mark.parametrize(("source", "told"), PLANTED.items())
def test_planted_need_is_found(source: str, told: str) -> None:
    assert [told in line for line in needs_posix(source)] == [True]


@pytest.mark.parametrize("source", SOUND)
def test_what_works_everywhere_is_no_need(source: str) -> None:
    assert needs_posix(source) == []


def test_a_file_that_is_open_elsewhere_is_a_message(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Windows refuses to rename over a file that another program has open: a map in a viewer, a sheet."""
    put_files(tmp_path, "plan", {"a.pdf": "old", "b.pdf": "old"})
    real = os.replace

    def replace(source: Path, target: Path) -> None:
        if "b.pdf" in str(source):
            raise PermissionError(13, "The process cannot access the file", str(source), 32)
        real(source, target)

    monkeypatch.setattr(os, "replace", replace)
    with pytest.raises(FeedroundError, match="The process cannot access the file"):
        put_files(tmp_path, "plan", {"a.pdf": "new", "b.pdf": "new"})
    assert {path.read_text() for path in tmp_path.glob("*.pdf")} == {"old"}
