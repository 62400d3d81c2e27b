"""Write one section of the page of benchmarks and leave the others as they are.

Sections are measured at different times by different commands. Each stands between two marks.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path

PAGE = Path(__file__).parents[2] / "docs" / "benchmarks.md"


def write_section(page: Path, name: str, lines: Sequence[str]) -> None:
    """Replace a section of the page, or add it at the end."""
    begin, end = f"<!-- begin {name} -->", f"<!-- end {name} -->"
    body = "\n".join([begin, *lines]).rstrip() + f"\n{end}"
    text = page.read_text(encoding="utf-8") if page.exists() else "# Benchmarks\n"
    found = re.search(re.escape(begin) + ".*?" + re.escape(end), text, re.DOTALL)
    before, after = (text[: found.start()], text[found.end() :]) if found else (f"{text.rstrip()}\n\n", "\n")
    page.parent.mkdir(parents=True, exist_ok=True)
    page.write_text(before + body + after, encoding="utf-8")


def table(rows: Sequence[Sequence[str]]) -> list[str]:
    """A table in Markdown, its head first."""
    head, *body = rows
    lines = ["| " + " | ".join(head) + " |", "|" + "---|" * len(head)]
    return lines + ["| " + " | ".join(row) + " |" for row in body] + [""]


def chart(folder: Path, name: str, svg: str, alt: str) -> list[str]:
    """Write a chart into the page's folder of charts, and the line that shows it."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / name).write_text(svg, encoding="utf-8")
    return [f"![{alt}]({folder.name}/{name})", ""]
