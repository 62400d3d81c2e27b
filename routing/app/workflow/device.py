"""The time of this device, or the time at which a note was typed that is taken in later."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import UTC, datetime

_TIME: ContextVar[datetime | None] = ContextVar("device time", default=None)


def device_now() -> datetime:
    """The time of this device."""
    return _TIME.get() or datetime.now(UTC)


@contextmanager
def device_time(moment: datetime) -> Iterator[None]:
    """Take notes as if the device showed another time: for what was typed then."""
    before = _TIME.set(moment)
    try:
        yield
    finally:
        _TIME.reset(before)
