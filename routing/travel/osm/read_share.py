"""Tell how far a library has read a file that it opened itself."""

from __future__ import annotations

import contextlib
import os
from pathlib import Path

HIGHEST = 256
"""File numbers looked through: a program that reads one extract has a dozen open."""


class ReadShare:
    """The share of a file that has been read in this process, where the system can tell.

    The reader keeps its file to itself, but the place it has reached belongs to the open file and may be
    asked for by its number. It is a little ahead of what has been made of it.
    """

    def __init__(self, path: Path) -> None:
        try:
            found = os.stat(path)
        except OSError:
            self._file, self._bytes = (0, 0), 0
        else:
            self._file, self._bytes = (found.st_dev, found.st_ino), found.st_size
        self._number: int | None = None
        self._last: float | None = None

    def now(self) -> float | None:
        """From 0 to 1; None where the file has not been open yet or the system does not tell.

        Once the reader has closed the file, what it had read when last asked.
        """
        if self._bytes and (self._number is None or not self._is(self._number)):
            self._number = next((number for number in range(3, HIGHEST) if self._is(number)), None)
        if self._number is not None:
            with contextlib.suppress(OSError):
                self._last = min(1.0, os.lseek(self._number, 0, os.SEEK_CUR) / self._bytes)
        return self._last

    def _is(self, number: int) -> bool:
        try:
            found = os.fstat(number)
        except OSError:
            return False
        return (found.st_dev, found.st_ino) == self._file and found.st_ino != 0
