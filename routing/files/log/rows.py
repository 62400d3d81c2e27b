"""Turn events into rows of the day log and back, each row sealed by a digest over it and the row before."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from datetime import date, datetime
from functools import cache
from typing import Any

from pydantic import TypeAdapter, ValidationError

from routing.domain.errors import FeedroundError, ValueRefused
from routing.log.events import KINDS, Event, Fact

COLUMNS = ("event_id", "day", "at", "recorded", "kind", "truck_id", "corrects", "body", "said")
FIRST = "0" * 64
"""What the first row's digest is made over, in place of a row before it."""


class DayLogError(FeedroundError):
    """The day log cannot be used or refuses what it is given; the text says why and what to do."""


class DayLogDamaged(DayLogError):
    """The file of the day log is damaged: nothing is written to it."""


@cache
def _adapter(kind: str) -> TypeAdapter[Any]:
    return TypeAdapter(KINDS[kind])


def body_of(fact: Fact, kind: str) -> str:
    """A fact as compact JSON."""
    content = _adapter(kind).dump_python(fact, mode="json")
    return json.dumps(content, ensure_ascii=False, sort_keys=True, separators=(",", ":"))


def row_of(event: Event, recorded: datetime) -> tuple[str, ...]:
    """The cells of an event, in the order of ``COLUMNS``."""
    return (
        event.event_id,
        event.day.isoformat(),
        event.at.isoformat(),
        recorded.isoformat(),
        event.kind,
        event.truck_id,
        event.corrects,
        body_of(event.fact, event.kind),
        event.said,
    )


def event_of(seq: int, cells: Sequence[str]) -> Event:
    """The event in a row. Raises DayLogDamaged when the row holds none."""
    event_id, day, at, recorded, kind, truck_id, corrects, body, said = cells
    try:
        fact = _adapter(kind).validate_json(body)
        return Event(
            event_id,
            date.fromisoformat(day),
            datetime.fromisoformat(at),
            fact,
            truck_id,
            corrects,
            said,
            datetime.fromisoformat(recorded),
            seq,
        )
    except (KeyError, ValueError, ValidationError, ValueRefused) as error:
        raise DayLogDamaged(f"event {seq} of the day log cannot be read ({error})") from error


def seal(before: str, cells: Sequence[str]) -> str:
    """The digest of a row: over its cells and the digest of the row before it."""
    text = json.dumps([before, *cells], ensure_ascii=False, separators=(",", ":"))
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()


def plan_seal(plan_id: str, text: str) -> str:
    """The digest of a kept plan."""
    return hashlib.sha256(f"{plan_id}\n{text}".encode()).hexdigest()
