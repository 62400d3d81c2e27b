"""Have the search compiled, once on each computer, before the time of a plan begins."""

from __future__ import annotations

import time
from collections.abc import Callable

from routing.planning.machine_code.code_folder import can_be_made, code_folder, has_compiler, wanted
from routing.planning.machine_code.make import make
from routing.planning.run.solve import Progress

PREPARING = "preparing"
"""The stage of the progress that tells of it."""


def prepare(on_progress: Callable[[Progress], None] | None) -> tuple[str, ...]:
    """Compile the search where that can be and is not done; what went wrong. No re-plan waits for it."""
    if wanted() and has_compiler() and code_folder() is None:
        return ("the compiled search is off: its folder cannot be written, or other users may write to it",)
    if not can_be_made():
        return ()
    began = time.monotonic()

    def tell(share: float) -> None:
        if on_progress is not None:
            on_progress(Progress(time.monotonic() - began, 0.0, 0, PREPARING, share=share))

    tell(0.0)
    try:
        trouble = make(tell)
    except KeyboardInterrupt:
        trouble = "stopped by hand; the next plan prepares it again"
    if not trouble:
        return ()
    return (f"the compiled search could not be prepared; the slower one was used ({trouble})",)


def not_prepared() -> tuple[str, ...]:
    """What a re-plan, which waits for no compiler, says where the search is not compiled."""
    if not can_be_made():
        return ()
    return ("the compiled search is not prepared on this computer; planning any day prepares it",)
