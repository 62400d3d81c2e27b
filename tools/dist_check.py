"""Build sdist and wheel, install each outside the checkout, and plan the demo: ``make dist-check``.

Takes some minutes and 1 GB of disk: everything is installed anew.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import venv
from pathlib import Path

ROOT = Path(__file__).parents[1]
CONSTRAINTS = ROOT / ".ci" / "constraints.txt"

WHERE = """
import pathlib, sys, routing
home = pathlib.Path(routing.__file__).parent
assert home.is_relative_to(sys.prefix), home
assert (home / "py.typed").is_file()
from routing.app.workflow.demo import demo_folder
print(repr(routing.read_operation(demo_folder())))
"""


def run(*words: str | Path, cwd: Path, fine: tuple[int, ...] = (0,), **env: str) -> None:
    """Run a command outside the checkout; end with what it said where it fails."""
    clean = {name: value for name, value in os.environ.items() if name != "PYTHONPATH"}
    print("$", *words, flush=True)
    done = subprocess.run(
        [*map(str, words)], cwd=cwd, env={**clean, **env}, check=False, text=True,
        stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
    )  # fmt: skip
    if done.returncode not in fine:
        sys.exit(f"{done.stdout}\nfailed with exit code {done.returncode}")


def check(python: Path, cwd: Path, name: str, **env: str) -> None:
    """The installed package is used, knows its demo, and plans it with all its files."""
    run(python, "-c", WHERE, cwd=cwd)
    # Exit code 1: planned, with yards left unserved.
    run(python.parent / "feedround", "demo", "--seconds", "1", "--out", name, cwd=cwd, fine=(0, 1), **env)
    missing = [f for f in ("map.html", "plan.json", "stops.xlsx") if not (cwd / name / f).is_file()]
    if missing or not list((cwd / name).glob("run_sheet*.pdf")):
        sys.exit(f"{name}: the demo was planned without {missing or 'run sheets'}")


def main() -> None:
    """Check the wheel, then the sdist."""
    with tempfile.TemporaryDirectory(prefix="dist-check-") as name:
        home = Path(name)
        venv.create(home / "venv", with_pip=True)
        python = home / "venv" / ("Scripts" if os.name == "nt" else "bin") / "python"
        pip = (python, "-m", "pip", "--disable-pip-version-check", "--quiet")
        run(*pip, "install", "build", cwd=home)
        run(python, "-m", "build", "--outdir", home / "dist", ROOT, cwd=home)
        wheel, sdist = next((home / "dist").glob("*.whl")), next((home / "dist").glob("*.tar.gz"))
        run(*pip, "install", "--constraint", CONSTRAINTS, wheel, cwd=home)
        run(*pip, "check", cwd=home)
        check(python, home, "wheel", FEEDROUND_CACHE=str(home / "cache"))
        run(*pip, "install", "--force-reinstall", "--no-deps", sdist, cwd=home)
        check(python, home, "sdist", FEEDROUND_PLAIN="1")
    print("Wheel and sdist install and plan the demo outside the checkout.")


if __name__ == "__main__":
    main()
