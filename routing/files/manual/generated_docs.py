"""Keep the pages that are made from the code: the manual of the input and the schema of the plan."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path

from routing.files.manual.manual import manual
from routing.files.plan.plan_json import schema_text
from routing.files.writing.atomic import write_atomic

PAGES: dict[str, Callable[[], str]] = {"input.md": manual, "plan.schema.json": schema_text}


def write_pages(docs: Path) -> tuple[Path, ...]:
    """Write every page into a folder that exists."""
    for name, make in PAGES.items():
        write_atomic(docs / name, make())
    return tuple(docs / name for name in PAGES)


if __name__ == "__main__":
    for page in write_pages(Path(sys.argv[1] if len(sys.argv) > 1 else "docs")):
        print(page)
