"""Build the road data of the embedded engine from an extract, once for each kind of truck, and keep it."""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from routing.domain.errors import FeedroundError
from routing.travel.graph.cache import cache_folder

SUFFIXES = (".osm.pbf", ".osm.bz2", ".osm", ".pbf")
BASE = "roads.osrm"
SEAL = "seal.json"
MOST_KEPT = 12
"""Older data sets go when there are more."""

STEPS = ("extract", "partition", "customize")


class EngineError(FeedroundError):
    """The embedded engine cannot be used: what is wrong, and what to do about it."""


def check_extract(extract: Path) -> None:
    """Raises EngineError unless there is a file that may be an OpenStreetMap extract."""
    if not extract.is_file():
        raise EngineError(
            f"{extract}: there is no such file: name an OpenStreetMap extract in travel.extract"
        )
    if not extract.name.lower().endswith(SUFFIXES):
        raise EngineError(
            f"{extract}: the engine reads OpenStreetMap extracts ({', '.join(SUFFIXES)}), not built road "
            'graphs: those are for method = "roads"'
        )
    if extract.stat().st_size == 0:
        raise EngineError(f"{extract}: the file is empty: get the extract again")


@contextmanager
def road_data(extract: Path, profile: str, tools: Path, version: str) -> Iterator[Path]:
    """The base path of the engine's data for an extract and a profile; built when it is not kept.

    Kept in the user's cache under a name made of the extract's content, the profile and the engine's
    version, with a seal over every file: what is damaged or not whole is built again. Where no cache is
    wanted or none can be written the data lives as long as the context. Raises EngineError.
    """
    check_extract(extract)
    key = _key(extract, profile, version)
    kept = cache_folder()
    if kept is not None and (base := _recall(kept / f"engine-{key}")) is not None:
        yield base
        return
    with _workshop(kept) as folder:
        _build(extract, profile, tools, folder)
        yield _keep(folder, kept / f"engine-{key}") if kept is not None else folder / BASE


def _key(extract: Path, profile: str, version: str) -> str:
    digest = hashlib.sha256(f"{version}\0{profile}\0".encode())
    try:
        with extract.open("rb") as file:
            digest.update(hashlib.file_digest(file, "sha256").digest())
    except OSError as error:
        raise EngineError(f"{extract}: the file cannot be read ({error.strerror})") from error
    return digest.hexdigest()[:40]


@contextmanager
def _workshop(kept: Path | None) -> Iterator[Path]:
    """A folder to build in, gone afterwards whatever happens; beside the kept ones, to be renamed."""
    parent: Path | None = kept
    if kept is not None:
        try:
            (folder := Path(tempfile.mkdtemp(prefix=".engine-", dir=kept))).chmod(0o700)
        except OSError:
            parent = None
    if parent is None:
        folder = Path(tempfile.mkdtemp(prefix="feedround-engine-"))
    try:
        yield folder
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _build(extract: Path, profile: str, tools: Path, folder: Path) -> None:
    (folder / "truck.lua").write_text(profile, encoding="utf-8")
    base = BASE.removesuffix(".osrm")
    commands = {
        "extract": ["-p", "truck.lua", "-o", base, str(extract.resolve())],
        "partition": [BASE],
        "customize": [BASE],
    }
    for step in STEPS:
        _run(tools, step, commands[step], folder, extract)
    if not (folder / f"{BASE}.mldgr").is_file():
        raise EngineError(f"{extract}: the engine built nothing and gave no reason")


def _run(tools: Path, step: str, options: list[str], folder: Path, extract: Path) -> None:
    program = next((p for p in (tools / f"osrm-{step}", tools / f"osrm-{step}.exe") if p.is_file()), None)
    found = str(program) if program else shutil.which(f"osrm-{step}")
    if found is None:
        raise EngineError(f"osrm-{step} is not part of the installed engine: pip install --force-reinstall "
                          "osrm-bindings")  # fmt: skip
    try:
        done = subprocess.run([found, *options], cwd=folder, capture_output=True, check=False)
    except OSError as error:
        raise EngineError(f"osrm-{step} cannot be run ({error.strerror})") from error
    if done.returncode:
        said = (done.stdout + done.stderr).decode("utf-8", "replace")
        raise EngineError(f"{extract}: {_reason(said)}")


def _reason(said: str) -> str:
    """What to tell of the last words of a step that failed."""
    marks = ("[error]", "what():")
    faults = [line.partition(mark)[2].strip() for line in said.splitlines() for mark in marks if mark in line]
    words = faults[-1] if faults else ""
    words = "".join(c if c.isprintable() else " " for c in words or "the engine stopped without a message")[
        :200
    ]
    if "no edges" in said.lower() or "no nodes" in said.lower() or "empty" in said.lower():
        return (
            f"no road that a truck can use is in it ({words}): is it an extract with all roads of the area?"
        )
    if "No space left" in said:
        return "the disk is full: the engine's data takes about ten times the extract"
    return f"the engine cannot read it ({words}): is it a whole OpenStreetMap extract? Get it again"


def _recall(folder: Path) -> Path | None:
    """The base path of a kept data set, every file of which is as it was written; else it is removed."""
    try:
        seal = json.loads((folder / SEAL).read_text(encoding="utf-8"))
        sound = seal == _digests(folder) and f"{BASE}.mldgr" in seal
    except (OSError, ValueError):
        sound = False
    if not sound:
        shutil.rmtree(folder, ignore_errors=True)
        return None
    with contextlib.suppress(OSError):
        os.utime(folder)
    return folder / BASE


def _keep(folder: Path, target: Path) -> Path:
    """Seal a data set and give it its name; where another has been quicker, that one serves."""
    try:
        (folder / SEAL).write_text(json.dumps(_digests(folder), sort_keys=True), encoding="utf-8")
        os.replace(folder, target)
    except OSError:
        return folder / BASE if folder.exists() else target / BASE
    _tidy(target.parent)
    return target / BASE


def _digests(folder: Path) -> dict[str, str]:
    found = {}
    for path in sorted(folder.iterdir()):
        if path.name != SEAL:
            with path.open("rb") as file:
                found[path.name] = hashlib.file_digest(file, "sha256").hexdigest()
    return found


def _tidy(parent: Path) -> None:
    folders = sorted(parent.glob("engine-*"), key=lambda folder: (folder.stat().st_mtime, folder.name))
    for folder in folders[:-MOST_KEPT]:
        shutil.rmtree(folder, ignore_errors=True)
