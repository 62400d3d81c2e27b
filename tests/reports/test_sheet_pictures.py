"""Every page of every sheet as a picture in ``pictures/``, to be looked at, and not empty."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest
from PIL import Image

from routing.reports.printing.run_sheet import run_sheet_pdf
from tests.support.builders import small_case
from tests.support.odd import fullest_case, odd_case

PDFTOPPM = shutil.which("pdftoppm")
PICTURES = Path(__file__).parents[2] / "pictures"


@pytest.mark.skipif(PDFTOPPM is None, reason="no pdftoppm here: no pictures of the run sheets are made")
@pytest.mark.parametrize("paper", ["letter", "a4"])
@pytest.mark.parametrize("make", [small_case, odd_case, fullest_case])
def test_every_page_is_drawn_black_on_white_within_its_margins(make: object, paper: str) -> None:
    case = make()  # type: ignore[operator]
    PICTURES.mkdir(exist_ok=True)
    for name, data in run_sheet_pdf(case.operation, case.plan, paper=paper).items():
        stem = PICTURES / f"{make.__name__}_{paper}_{Path(name).stem}"  # type: ignore[attr-defined]
        for old in PICTURES.glob(f"{stem.name}-*.png"):
            old.unlink()
        source = stem.with_suffix(".pdf")
        source.write_bytes(data)
        subprocess.run([str(PDFTOPPM), "-r", "70", "-png", str(source), str(stem)], check=True, timeout=120)
        pages = sorted(PICTURES.glob(f"{stem.name}-*.png"))
        assert pages
        for page in pages:
            picture = Image.open(page).convert("L")
            ink = picture.point(lambda value: 255 if value < 128 else 0).getbbox()
            assert ink is not None
            margin = 70 / 25.4 * 7  # many printers cannot reach the outer quarter inch (common practice)
            assert ink[0] > margin
            assert ink[1] > margin
            assert ink[2] < picture.width - margin
            assert ink[3] < picture.height - margin
