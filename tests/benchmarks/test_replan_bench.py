"""The benchmark of re-plans: what goes wrong in its days, and what its page says."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from benchmarks.replan import Answer, Case, _mishaps, section
from routing.log.facts import Skipped, TruckOut
from tests.support.day_player import demo_scene


def test_a_truck_breaks_down_and_another_finds_a_gate_locked() -> None:
    plan = demo_scene().plan
    now = datetime(2026, 9, 28, 11, 20, tzinfo=ZoneInfo(plan.timezone))
    out, gate = _mishaps(plan, now)
    assert isinstance(out.fact, TruckOut)
    assert isinstance(gate.fact, Skipped)
    assert out.truck_id != gate.truck_id
    ahead = [
        s.place_id for r in plan.routes if r.truck_id == gate.truck_id for s in r.stops if s.arrive > now
    ]
    assert gate.fact.yard_id in ahead


def test_gaps_are_held_against_the_cheapest_that_was_found() -> None:
    case = Case("a day", 36, Path("none"), date(2026, 9, 28))
    short = [Answer(0.4, 0.3, 1.9, 102.0, 3), Answer(0.6, 0.3, 2.1, 101.0, 3)]
    lines = section({case: (short, Answer(0.4, 0.3, 60.0, 100.0, 3))}, 60.0, "the command", busy=True)
    text = "\n".join(lines)
    assert "| a day | 2 | 0.50 | 0.30 | 2.00 | 2 | 2.00, 1.00 | 1.50 | 3, 3 |" in text
    assert "busy with other work" in text
    worse = section({case: (short[:1], Answer(0.4, 0.3, 60.0, 204.0, 9))}, 60.0, "the command", busy=False)
    assert "| 0.00 | 0.00 |" in "\n".join(worse)
