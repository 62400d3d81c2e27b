"""Find the demo operation that ships with feedround, and copy it."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from routing.domain.errors import FeedroundError
from routing.files.writing.staged import put_files

DEMO = "sorrel_county"
DEMO_DATE = date(2026, 9, 28)


def demo_folder() -> Path:
    """The demo operation of this installation."""
    import data_demo

    for base in data_demo.__path__:
        folder = Path(base) / DEMO
        if folder.is_dir():
            return folder
    raise FeedroundError("this installation lacks the demo operation: reinstall feedround")


def copy_demo(target: Path) -> Path:
    """Copy the demo's files into a folder, over what an earlier demo left there.

    Raises FeedroundError when they cannot be written, or one was changed since.
    """
    files = (file for file in sorted(demo_folder().iterdir()) if file.suffix in (".csv", ".toml", ".bz2"))
    put_files(target, "demo", {file.name: file.read_bytes() for file in files})
    return target
