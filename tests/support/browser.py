"""Open a page in a headless browser with no network, and ask it questions."""

from __future__ import annotations

import base64
import hashlib
import json
import re
import shutil
import subprocess
from html import escape, unescape
from pathlib import Path
from typing import Any, NamedTuple

import pytest

BROWSER = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)
needs_browser = pytest.mark.skipif(BROWSER is None, reason="no Chromium here: pages are not rendered")
AXE = Path(__file__).resolve().parents[2] / "node_modules" / "axe-core" / "axe.min.js"
needs_axe = pytest.mark.skipif(not AXE.exists(), reason="axe-core is not installed (npm install)")
PICTURES = Path(__file__).resolve().parents[2] / "pictures"

FLAGS = (
    "--headless=new",
    "--no-sandbox",
    "--disable-gpu",
    "--hide-scrollbars",
    "--disable-background-networking",
    "--no-first-run",
    "--host-resolver-rules=MAP * ~NOTFOUND",
    "--force-prefers-reduced-motion",
    "--enable-logging=stderr",
)


class Seen(NamedTuple):
    """What a page answered, and what it complained about on its console."""

    answer: Any
    console: list[str]


def ask(
    page: str,
    question: str,
    folder: Path,
    width: int = 1920,
    height: int = 1080,
    wait_for: str = "answer",
) -> Seen:
    """The value of a JavaScript expression, read once the page is ready.

    The policy of the page stays in force: the asking script is let in by its digest. ``wait_for`` names
    another element in which the expression leaves its answer later.
    """
    script = (
        "window.addEventListener('load', function () { setTimeout(function () {"
        "var made = document.createElement('pre'); made.id = 'answer'; var value;"
        f"try {{ value = ({question}); }} catch (e) {{ value = 'FAILED: ' + e; }}"
        "made.textContent = JSON.stringify(value); document.body.appendChild(made); }, 400); });"
    )
    digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    page = page.replace("script-src ", f"script-src 'sha256-{digest}' ", 1)
    page = page.replace("</body>", f"<script>{script}</script></body>")
    run = _run(page, folder, width, height, "--dump-dom")
    found = re.search(rf'<pre id="{wait_for}">(.*?)</pre>', run.stdout, re.DOTALL)
    assert found, run.stderr[-2000:]
    return Seen(json.loads(unescape(found[1])), re.findall(r"CONSOLE.*", run.stderr))


def framed(page: str, width: int, height: int) -> str:
    """The page in a frame of a size: a headless window is never narrower than 500 pixels when asked."""
    look = f"width:{width}px;height:{height}px;border:0"
    return (
        f'<!DOCTYPE html><html><body><iframe style="{look}" srcdoc="{escape(page)}"></iframe></body></html>'
    )


def picture(page: str, name: str, folder: Path, width: int, height: int) -> Path:
    """A picture of the page in pictures/, to look at."""
    PICTURES.mkdir(exist_ok=True)
    target = PICTURES / name
    target.unlink(missing_ok=True)
    _run(page, folder, width, height, f"--screenshot={target}")
    return target


def printed(page: str, name: str, folder: Path) -> Path:
    """The page as it prints, as PDF in pictures/."""
    PICTURES.mkdir(exist_ok=True)
    target = PICTURES / name
    target.unlink(missing_ok=True)
    _run(page, folder, 1280, 900, "--no-pdf-header-footer", f"--print-to-pdf={target}")
    return target


def axe_findings(page: str, folder: Path, width: int, height: int) -> list[Any]:
    """What axe-core finds in a page: impact, rule, how often, and the first place."""
    axe = AXE.read_text(encoding="utf-8").replace("</script", "<\\/script")
    page = page.replace("</body>", f"<script>{axe}</script></body>")
    # The policy of the page lets no other script in; here it is taken off for the checker.
    page = page.replace('http-equiv="Content-Security-Policy"', 'name="policy"')
    question = (
        "(window.axe.run().then(function (r) { var p = document.createElement('pre'); p.id = 'answer2';"
        "p.textContent = JSON.stringify(r.violations.map(function (v) { return [v.impact, v.id,"
        " v.nodes.length, v.nodes[0].html.slice(0, 120)]; })); document.body.appendChild(p); }), 'asked')"
    )
    found = ask(page, question, folder, width, height, wait_for="answer2").answer
    return list(found)


def _run(page: str, folder: Path, width: int, height: int, *flags: str) -> subprocess.CompletedProcess[str]:
    file = folder / "page.html"
    file.write_text(page, encoding="utf-8")
    command = [
        str(BROWSER), *FLAGS, f"--user-data-dir={folder / 'profile'}", f"--window-size={width},{height}",
        "--virtual-time-budget=5000", *flags, file.as_uri(),
    ]  # fmt: skip
    return subprocess.run(command, capture_output=True, text=True, timeout=120, check=False)
