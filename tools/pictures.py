"""Draw maps and pictures from the demo: ``python -m tools.pictures [readme] [day]`` (chromium, pdftoppm).

``readme`` draws the README's, ``day`` plays docs/a-day/story.txt and writes docs/a-day.md with its pictures.
Plans are bounded by iterations, so the same version draws the same.
"""

from __future__ import annotations

import contextlib
import os
import random
import shutil
import subprocess
import sys
import tempfile
import uuid
from collections.abc import Iterator
from pathlib import Path
from unittest import mock

from PIL import Image

ROOT = Path(__file__).parents[1]
MAPS = ROOT / "maps"
DAY = ROOT / "docs" / "a-day"
MOST_BYTES = 400_000
MOST_BYTES_DAY = 150_000
DEMO = ROOT / "data_demo" / "sorrel_county"
CHROMIUM = ["chromium", "--headless=new", "--no-sandbox", "--disable-gpu", "--disable-background-networking"]


def main(what: list[str]) -> None:
    """Draw what is named; everything when nothing is."""
    for name, draw in (("readme", draw_readme), ("day", draw_day)):
        if name in (what or [name]):
            draw()


def draw_readme() -> None:
    """Plan the demo; save its map, a picture of it and of one page of a run sheet under maps/."""
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder)
        command = [sys.executable, "-c", "from routing.app.cli.cli import main; main()", "plan", str(DEMO)]
        options = ["--date", "2026-09-28", "--iterations", "6000", "--out", str(out)]
        subprocess.run([*command, *options], check=False, stdout=subprocess.DEVNULL)
        (MAPS / "sample_map.html").write_bytes((out / "map.html").read_bytes())
        _shoot(out / "map.html", MAPS / "sample_map.png", "1280,800")
        _page(out / "run_sheet_light.pdf", 1, MAPS / "sample_sheet", 80)
    for name in ("sample_map.png", "sample_sheet.png"):
        _fewer_colours(MAPS / name, 128, MOST_BYTES)


def draw_day() -> None:
    """Play the told day; write its page, with the maps and a sheet of its re-plans beside the story."""
    from routing.files.operation.folder import read_operation
    from tools.told_day import STORY, ToldDay, names_of, typed

    def run(words: list[str]) -> tuple[int, str]:
        return typed([*words, *(("--iterations", "3000") if words[0] in ("plan", "replan") else ())])

    with tempfile.TemporaryDirectory() as folder, contextlib.chdir(folder), _same_ids():
        shutil.copytree(DEMO, "county", ignore=shutil.ignore_patterns("day_log*"))
        day = ToldDay(run, names_of(read_operation(Path("county"))[0]))
        page = day.play(STORY.read_text(encoding="utf-8"))
        (ROOT / "docs" / "a-day.md").write_text(page, encoding="utf-8")
        for at in ("1120", "1410"):
            _shoot(Path(folder, f"at-{at}", "map.html"), DAY / f"map-{at}.png", "1400,900")
        _page(Path(folder, "at-1120", "run_sheet_heavy.pdf"), 1, DAY / "sheet-1120", 72)
    for picture in DAY.glob("*.png"):
        _fewer_colours(picture, 64, MOST_BYTES_DAY)


@contextlib.contextmanager
def _same_ids() -> Iterator[None]:
    """The same ids of events, and lines of the same length, on every run."""
    dice = random.Random(1)

    def next_id() -> uuid.UUID:
        return uuid.UUID(int=dice.getrandbits(128), version=4)

    with mock.patch("uuid.uuid4", next_id), mock.patch.dict(os.environ, {"COLUMNS": "105"}):
        os.environ.pop("FEEDROUND_TRUCK", None)
        yield


def _shoot(page: Path, saved: Path, size: str) -> None:
    shot = [f"--window-size={size}", "--virtual-time-budget=5000", f"--screenshot={saved}", page.as_uri()]
    subprocess.run([*CHROMIUM, *shot], check=True, stderr=subprocess.DEVNULL)


def _page(sheet: Path, page: int, stem: Path, dots: int) -> None:
    pages = ["-f", str(page), "-l", str(page), "-singlefile", "-png"]
    subprocess.run(["pdftoppm", "-r", str(dots), *pages, str(sheet), str(stem)], check=True)


def _fewer_colours(path: Path, colours: int, most: int) -> None:
    """Store a drawing with a palette: a third of the size, no difference to see."""
    with Image.open(path) as picture:
        plain = picture.convert("RGB")
        small = plain.quantize(colours, method=Image.Quantize.MEDIANCUT, dither=Image.Dither.NONE)
    small.save(path, optimize=True)
    if path.stat().st_size > most:
        raise SystemExit(f"{path}: {path.stat().st_size} bytes are more than a page should load")


if __name__ == "__main__":
    main(sys.argv[1:])
