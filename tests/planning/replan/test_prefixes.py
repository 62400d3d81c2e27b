"""The rest of a day is planned soundly from any prefix of what was noted, also twice and in part."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta

import pytest

from routing.domain.errors import NoPlanError
from tests.support.any_day import plan_here
from tests.support.any_operation import any_operation
from tests.support.day_player import Driven, Scene, check, played, replan_here

SECOND = timedelta(seconds=1)


def prefixes(seed: int, most_yards: int = 6, late_min: int = 0) -> Iterator[Driven]:
    """The re-plan after each event of a made-up day whose crews run so many minutes late."""
    operation, travel, day = any_operation(seed, most_yards)
    if not any(truck.available_on(day) for truck in operation.trucks.values()):
        return
    plan = replace(plan_here(operation, travel, day, iterations=10), plan_id="morning")
    if not plan.routes:
        return
    scene = Scene(operation, travel, plan)
    events = played(
        plan, max(route.end for route in plan.routes) + timedelta(hours=3), timedelta(minutes=late_min)
    )
    for known in sorted(events, key=lambda event: event.at):
        now = known.at + SECOND
        try:
            yield replan_here(scene, now, [event for event in events if event.at <= known.at], iterations=5)
        except NoPlanError:
            continue


def sound_after_any_prefix(seeds: range) -> int:
    """How many prefixes of days were planned again; each re-plan passes the audit, words and all."""
    count = 0
    for seed in seeds:
        for made in prefixes(seed, late_min=(seed % 3) * 7):
            check(made)
            count += 1
    return count


@pytest.mark.parametrize("first", [100, 112])
def test_a_re_plan_after_any_prefix_of_a_day_passes_the_audit(first: int) -> None:
    assert sound_after_any_prefix(range(first, first + 12)) >= 10
