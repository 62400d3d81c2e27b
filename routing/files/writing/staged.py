"""Put a set of files in the place of an earlier set: all of them or none, and nobody else's.

At every moment the folder holds files of one set only: the new ones are made whole in a folder of their own
inside it, the old ones move out, the new ones move in. Where a step fails the old ones move back.
"""

from __future__ import annotations

import contextlib
import os
import shutil
import tempfile
from collections.abc import Callable, Iterator, Mapping
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from filelock import FileLock, Timeout

from routing.domain.errors import FeedroundError
from routing.files.writing.atomic import file_mode, flush_folder, write_new
from routing.files.writing.manifest import (
    INPUT_NAMES,
    Ours,
    digest_of,
    kept_from_us,
    manifest_text,
    read_manifest,
)
from routing.files.writing.manifest import NAME as MANIFEST
from routing.files.writing.undisturbed import undisturbed

LOCK = ".feedround.lock"
STAGE = ".feedround_new_"
BUSY_S = 20.0
"""How long one writer waits for another that writes to the same folder."""


def put_files(folder: Path, purpose: str, contents: Mapping[str, str | bytes]) -> None:
    """Write files into a folder in place of those written there before for the same purpose.

    Raises FeedroundError, with the folder as it was, as ``staged`` does.
    """
    with staged(folder, purpose, contents) as put:
        put()


def put_file(path: Path, purpose: str, content: str | bytes) -> None:
    """Write one file, also over one that was written there before and not changed since.

    Raises FeedroundError for the name of an input, and as ``staged`` does.
    """
    target = Path(os.path.realpath(path))
    refuse_input_name(path)
    refuse_input_name(target)
    put_files(target.parent, f"{purpose} {target.name}", {target.name: content})


def refuse_input_name(path: Path) -> None:
    """Raise FeedroundError where a path has the name of a file that feedround plans from."""
    if path.name.lower() in INPUT_NAMES or path.suffix.lower() in (".xlsx", ".toml"):
        raise FeedroundError(f"{path}: {path.name} is the name of an input file: choose another --out")


def refuse_foreign(folder: Path, purpose: str, contents: Mapping[str, str]) -> None:
    """Raise FeedroundError where a file in the way of a set is not ours alone, naming them all.

    ``contents``: the digest of what is to be written, by file name; "" where that is not known yet.
    """
    listed = read_manifest(folder)
    names = dict.fromkeys([*contents, *(n for n, ours in listed.items() if ours.purpose == purpose)])
    faults = [
        f"{folder / name} {why}"
        for name in names
        if (why := kept_from_us(folder, name, listed.get(name), contents.get(name, "")))
    ]
    if faults:
        faults.append("Nothing was written. Move or rename what you want to keep, or choose another --out")
        raise FeedroundError("\n".join(faults))


@contextmanager
def staged(folder: Path, purpose: str, contents: Mapping[str, str | bytes]) -> Iterator[Callable[[], None]]:
    """Make files whole on the disk, and yield what puts them in place of the earlier ones.

    Parameters
    ----------
    folder : Path
        Where they go; made where it is missing. One writer at a time.
    purpose : str
        What the set is for. Files listed in the folder for the same purpose go, whatever their names.
    contents : mapping
        Text (UTF-8) or bytes by file name.

    Raises
    ------
    FeedroundError
        With the folder as it was: where a file in the way was not written by us, or was changed since, where
        another process writes there, and where the disk refuses.
    """
    data = {name: c.encode("utf-8") if isinstance(c, str) else c for name, c in contents.items()}
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with ExitStack() as quiet, FileLock(folder / LOCK, timeout=BUSY_S):
            refuse_foreign(folder, purpose, {name: digest_of(content) for name, content in data.items()})
            for left in folder.glob(f"{STAGE}*"):
                shutil.rmtree(left, ignore_errors=True)
            stage = Path(tempfile.mkdtemp(prefix=STAGE, dir=folder))
            try:
                _write_all(stage, folder, data)
                swap = _Swap(folder, stage, purpose, data)

                def put() -> None:
                    # From here on to the end: who has stopped us has not stopped half of it.
                    quiet.enter_context(undisturbed())
                    swap.run()

                yield put
            finally:
                shutil.rmtree(stage, ignore_errors=True)
    except Timeout:
        raise FeedroundError(f"{folder}: another feedround is writing there: try again") from None
    except OSError as error:
        why = error.strerror or str(error)
        raise FeedroundError(
            f"{folder}: cannot write there ({why}): nothing was changed; choose another --out"
        ) from error


def _write_all(stage: Path, folder: Path, data: Mapping[str, bytes]) -> None:
    for part in ("new", "old"):
        (stage / part).mkdir()
    for name, content in data.items():
        write_new(stage / "new" / name, content, file_mode(folder / name))
    flush_folder(stage / "new")


@dataclass
class _Swap:
    """Moves the old set out and the new one in; back again where that fails."""

    folder: Path
    stage: Path
    purpose: str
    data: Mapping[str, bytes]
    moved: list[tuple[Path, Path]] = field(default_factory=list)

    def run(self) -> None:
        """Put the new files in place. Raises OSError with the old ones in place."""
        listed = read_manifest(self.folder)
        old = [name for name, ours in listed.items() if ours.purpose == self.purpose]
        others = {n: ours for n, ours in listed.items() if n not in old and n not in self.data}
        new = {name: Ours(self.purpose, (digest_of(content),)) for name, content in self.data.items()}
        # Whatever comes of this, files of either set are known as ours afterwards.
        self._list({**listed, **{n: _both(o, listed.get(n)) for n, o in new.items()}})
        try:
            for name in dict.fromkeys([*old, *self.data]):
                if (self.folder / name).exists():
                    self._move(self.folder / name, self.stage / "old" / name)
            for name in self.data:
                self._move(self.stage / "new" / name, self.folder / name)
        except BaseException:
            self._back()
            raise
        flush_folder(self.folder)
        # The set is in place; with the longer list from before it is known as well.
        with contextlib.suppress(OSError):
            self._list({**others, **new})

    def _list(self, files: Mapping[str, Ours]) -> None:
        # Written inside the stage, which is cleared away whatever happens.
        made = self.stage / f"list{len(self.moved)}"
        write_new(made, manifest_text(files).encode("utf-8"), file_mode(self.folder / MANIFEST))
        os.replace(made, self.folder / MANIFEST)

    def _move(self, source: Path, target: Path) -> None:
        os.replace(source, target)
        self.moved.append((source, target))

    def _back(self) -> None:
        for source, target in reversed(self.moved):
            os.replace(target, source)


def _both(new: Ours, before: Ours | None) -> Ours:
    return new if before is None else Ours(new.purpose, (*new.digests, *before.digests))
