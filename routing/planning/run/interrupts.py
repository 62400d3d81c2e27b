"""Let a Ctrl-C end a search and keep its plan: a second one, out of impatience, does not lose it."""

from __future__ import annotations

import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType


class _Presses:
    """Counts Ctrl-C: the first and all after the second raise KeyboardInterrupt."""

    def __init__(self, say: Callable[[], None]) -> None:
        self.count, self.say = 0, say

    def __call__(self, number: int, frame: FrameType | None) -> None:
        self.count += 1
        if self.count == 2:
            self.say()
            return
        raise KeyboardInterrupt


def searched() -> None:
    """The search is over, and what it found is being written: the next press is told so and forgiven."""
    presses = signal.getsignal(signal.SIGINT)
    if isinstance(presses, _Presses):
        presses.count = max(1, presses.count)


@contextmanager
def forgiving(say: Callable[[], None] = lambda: None) -> Iterator[None]:
    """Within, the second Ctrl-C does no more than ``say``; the first and the third raise KeyboardInterrupt.

    Presses are counted by the outermost. Nothing is changed away from the main thread, nor where the caller
    has a handler of its own.
    """
    usual = signal.getsignal(signal.SIGINT) is signal.default_int_handler
    if threading.current_thread() is not threading.main_thread() or not usual:
        yield
        return
    signal.signal(signal.SIGINT, _Presses(say))
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, signal.default_int_handler)
