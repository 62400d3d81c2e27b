"""Draw the README's map and pictures from the demo: ``python docs/pictures.py`` (needs chromium, pdftoppm).

The plan is bounded by iterations, so the same version draws the same plan.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
from pathlib import Path

from PIL import Image

ROOT = Path(__file__).parents[1]
MAPS = ROOT / "maps"
MOST_BYTES = 400_000
DEMO = ROOT / "data_demo" / "sorrel_county"
CHROMIUM = ["chromium", "--headless=new", "--no-sandbox", "--disable-gpu", "--disable-background-networking"]


def main() -> None:
    """Plan the demo; save its map, a picture of it and of one page of a run sheet under maps/."""
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder)
        command = [sys.executable, "-c", "from routing.app.cli import main; main()", "plan", str(DEMO)]
        options = ["--date", "2026-09-28", "--iterations", "6000", "--out", str(out)]
        subprocess.run([*command, *options], check=False, stdout=subprocess.DEVNULL)
        (MAPS / "sample_map.html").write_bytes((out / "map.html").read_bytes())
        page, saved = (out / "map.html").as_uri(), MAPS / "sample_map.png"
        shot = ["--window-size=1500,1060", "--virtual-time-budget=5000", f"--screenshot={saved}", page]
        subprocess.run([*CHROMIUM, *shot], check=True, stderr=subprocess.DEVNULL)
        sheet, stem = out / "run_sheet_light.pdf", MAPS / "sample_sheet"
        subprocess.run(
            ["pdftoppm", "-r", "80", "-f", "2", "-l", "2", "-singlefile", "-png", str(sheet), str(stem)],
            check=True,
        )
    for name in ("sample_map.png", "sample_sheet.png"):
        _fewer_colours(MAPS / name)


def _fewer_colours(path: Path) -> None:
    """Store a drawing with a palette: a third of the size, no difference to see."""
    with Image.open(path) as picture:
        small = picture.convert("RGB").quantize(
            128, method=Image.Quantize.MEDIANCUT, dither=Image.Dither.NONE
        )
    small.save(path, optimize=True)
    if path.stat().st_size > MOST_BYTES:
        raise SystemExit(f"{path}: {path.stat().st_size} bytes are more than a README should load")


if __name__ == "__main__":
    main()
