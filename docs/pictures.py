"""Draw the README's pictures from the demo: ``python docs/pictures.py`` (needs chromium and pdftoppm).

The plan is bounded by iterations, so the same version draws the same plan.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).parents[1]
DEMO = ROOT / "data_demo" / "sorrel_county"
CHROMIUM = ["chromium", "--headless=new", "--no-sandbox", "--disable-gpu", "--disable-background-networking"]


def main() -> None:
    """Plan the demo and save a picture of its map and of one page of a run sheet under maps/."""
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder)
        command = [sys.executable, "-c", "from routing.app.cli import main; main()", "plan", str(DEMO)]
        options = ["--date", "2026-09-28", "--iterations", "6000", "--out", str(out)]
        subprocess.run([*command, *options], check=False, stdout=subprocess.DEVNULL)
        page, saved = (out / "map.html").as_uri(), ROOT / "maps" / "sample_map.png"
        shot = ["--window-size=1500,1060", "--virtual-time-budget=5000", f"--screenshot={saved}", page]
        subprocess.run([*CHROMIUM, *shot], check=True, stderr=subprocess.DEVNULL)
        sheet, stem = out / "run_sheet_light.pdf", ROOT / "maps" / "sample_sheet"
        subprocess.run(
            ["pdftoppm", "-r", "80", "-f", "2", "-l", "2", "-singlefile", "-png", str(sheet), str(stem)],
            check=True,
        )


if __name__ == "__main__":
    main()
