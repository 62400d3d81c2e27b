"""Find the demo operation that ships with feedround, and copy it."""

from __future__ import annotations

import shutil
from datetime import date
from pathlib import Path

from routing.domain.errors import FeedroundError

DEMO = "sorrel_county"
DEMO_DATE = date(2026, 9, 28)


def demo_folder() -> Path:
    """The demo operation of this installation."""
    import data_demo

    for base in data_demo.__path__:
        folder = Path(base) / DEMO
        if folder.is_dir():
            return folder
    raise FeedroundError("the demo operation is not part of this installation: install feedround again")


def copy_demo(target: Path) -> Path:
    """Copy the demo's files into a folder, over what an earlier demo left there."""
    source = demo_folder()
    try:
        target.mkdir(parents=True, exist_ok=True)
        for file in sorted(source.iterdir()):
            if file.suffix in (".csv", ".toml", ".bz2"):
                shutil.copyfile(file, target / file.name)
    except OSError as error:
        raise FeedroundError(
            f"{target}: cannot write there ({error.strerror}): choose another --out"
        ) from error
    return target
