"""Tell which share of the compiling is done, by counting functions."""

from __future__ import annotations

from collections.abc import Callable

from numba.core import event

from routing.planning.machine_code.jit import ENTRIES, FUNCTIONS

AN_ENTRY = 40
"""To write out an entry, with all that it calls, takes about as long as to read so many functions."""


def tell_share(hear: Callable[[float], None]) -> None:
    """From now on tell ``hear`` the share that is done, from 0 to 1, after every function."""
    event.register("numba:compile", _Counter(hear))


class _Counter(event.Listener):  # type: ignore[misc]
    """Counts functions of ours that are done."""

    def __init__(self, hear: Callable[[float], None]) -> None:
        self.hear, self.done = hear, 0

    def on_start(self, event: event.Event) -> None:
        """Nothing is done yet."""

    def on_end(self, event: event.Event) -> None:
        """One more is done."""
        dispatcher = event.data["dispatcher"]
        if dispatcher.py_func in FUNCTIONS:
            self.done += 1 + AN_ENTRY * (dispatcher.py_func in ENTRIES)
            self.hear(min(1.0, self.done / (len(FUNCTIONS) + AN_ENTRY * len(ENTRIES))))
