"""Have the search compiled, once on each computer, before the time of a plan begins."""

from __future__ import annotations

from collections.abc import Callable

from routing.domain.errors import NoPlanError
from routing.planning.compiled.code_folder import PLAIN, can_be_made, make
from routing.planning.solve import Progress

PREPARING = "preparing"
"""The stage of the progress that tells of it."""

STOPPED = (
    "stopped while the search was being prepared for this computer. The next plan prepares it again, about a "
    f"minute; with {PLAIN}=1 in the environment it plans without, but not as well"
)


def prepare(on_progress: Callable[[Progress], None] | None) -> tuple[str, ...]:
    """Compile the search where that can be and is not done; what went wrong. No re-plan waits for it."""
    if not can_be_made():
        return ()
    if on_progress is not None:
        on_progress(Progress(0.0, 0.0, 0, PREPARING))
    try:
        trouble = make()
    except KeyboardInterrupt:
        raise NoPlanError(STOPPED) from None
    return (f"the fast search could not be prepared, the slow one was used ({trouble})",) if trouble else ()
