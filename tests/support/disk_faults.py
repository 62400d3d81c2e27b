"""Make the n-th call by which a program changes the disk fail, fall short, or be its last."""

from __future__ import annotations

import errno
import os
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from typing import Any
from unittest import mock

CALLS = ("open", "write", "fsync", "chmod", "mkdir", "replace", "rename", "link", "unlink", "rmdir")
"""What changes the disk, or promises that it is changed."""

FULL = OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
DENIED = OSError(errno.EACCES, os.strerror(errno.EACCES))
KILLED = 99
"""Exit code of a process that was lost on the way."""


class Disk:
    """Counts the calls; at number ``at`` it does ``what`` in place of the call (0: never)."""

    def __init__(self, at: int, what: Callable[[], None]) -> None:
        self.at, self.what, self.count = at, what, 0
        self.names: list[str] = []

    def wrap(self, name: str, real: Callable[..., Any]) -> Callable[..., Any]:
        def call(*args: Any, **more: Any) -> Any:
            self.count += 1
            self.names.append(name)
            if self.count == self.at:
                self.what()
            if name == "write":
                # Every write falls short: what is taken for written must have been.
                return real(args[0], args[1][: max(1, len(args[1]) // 2)])
            return real(*args, **more)

        return call


@contextmanager
def disk(at: int = 0, what: Callable[[], None] = lambda: None) -> Iterator[Disk]:
    """Within, all calls of ``CALLS`` are counted and the one of number ``at`` meets its fault."""
    found = Disk(at, what)
    with ExitStack() as patches:
        for name in CALLS:
            patches.enter_context(mock.patch.object(os, name, found.wrap(name, getattr(os, name))))
        yield found


def fail_with(error: OSError) -> Callable[[], None]:
    """Have a call refused."""

    def refuse() -> None:
        raise OSError(error.errno, error.strerror)

    return refuse


def lost_at(at: int, work: Callable[[], object]) -> int:
    """Do work in a process that dies at its call of number ``at``; its exit code: ``KILLED`` if it did."""
    pid = os.fork()
    if pid == 0:
        code = 1
        try:
            with disk(at, lambda: os._exit(KILLED)):
                work()
            code = 0
        finally:
            os._exit(code)
    return os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1])


def count_calls(work: Callable[[], object]) -> int:
    """How many calls some work takes when nothing fails."""
    with disk() as found:
        work()
    return found.count
