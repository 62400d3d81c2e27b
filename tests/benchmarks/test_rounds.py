"""Rounds of several days: what a day leaves is what the next one begins with."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import pytest

from benchmarks.feeding.round import DayDriven, drive_round
from benchmarks.rounds import Driven, Task, drive_apart, section
from routing.domain.operation import Operation
from routing.planning.evaluate.state import Judge
from routing.planning.problem.build import Day
from routing.planning.run.solve import Outcome
from routing.planning.search.search import adopt
from routing.travel.straight.straight import straight_travel
from tests.support.invented.invent import invent_operation


class _ByInsertion:
    """Plans by cheapest insertion alone, and keeps the operations that it was given."""

    def __init__(self) -> None:
        self.seen: list[Operation] = []

    def __call__(self, days: Sequence[Day], number: int) -> Outcome:
        self.seen.append(days[0].operation)
        problem = days[0].problem
        return Outcome(0, adopt(Judge(problem), ((),) * len(problem.trucks)).solution())


@pytest.fixture(scope="module")
def driven() -> tuple[Operation, _ByInsertion, list[DayDriven]]:
    operation, plans = invent_operation(1, 24, 2), _ByInsertion()
    return operation, plans, drive_round(operation, straight_travel(operation), plans)


Round = tuple[Operation, _ByInsertion, list[DayDriven]]


def test_a_round_takes_several_days_and_the_audit_passes_each(driven: Round) -> None:
    _, _, days = driven
    assert len(days) >= 2
    assert [day.findings for day in days] == [0] * len(days)
    assert len({day.date for day in days}) == len(days)


def test_a_yard_that_was_fed_is_not_due_again_in_the_round(driven: Round) -> None:
    _, plans, days = driven
    for before, after in pairwise(days):
        assert after.due == before.due - before.fed
    assert [len(operation.yards) for operation in plans.seen][1] == 24 - days[0].fed


def test_what_was_poured_is_gone_from_store_and_tanks(driven: Round) -> None:
    operation, plans, days = driven
    held = [_held_l(o) for o in plans.seen]
    assert held[0] == pytest.approx(_held_l(operation))
    for day, before, after in zip(days, held, held[1:], strict=False):
        assert before - after == pytest.approx(day.volume_l, abs=0.5)


def _held_l(operation: Operation) -> float:
    tanks = sum(tank.level_l for truck in operation.trucks.values() for tank in truck.tanks)
    return tanks + sum(row.on_hand_l or 0.0 for d in operation.depots.values() for row in d.stock)


def test_a_round_in_a_process_of_its_own_comes_back_whole() -> None:
    found = drive_apart(Task("8x2", 1, "planner", 0.3, 1))
    assert isinstance(found, Driven)
    assert found.waiting == 0
    assert sum(day.fed for day in found.days) == found.days[0].due


def test_a_round_that_dies_is_told_of() -> None:
    found = drive_apart(Task("nobody", 1, "planner", 0.3, 1))
    assert isinstance(found, str)
    assert "died" in found


def test_the_report_of_rounds_tells_days_money_and_who_went_hungry() -> None:
    day = DayDriven("2026-09-28", 8, 6, 2, 1, 300.0, 100.0, 9.0, 900.0, 0)
    last = DayDriven("2026-09-29", 2, 2, 0, 0, 100.0, 50.0, 4.0, 300.0, 1)
    text = "\n".join(section([Driven("8 yards, no. 1", "planner", 1, 1, (day, last))], ["x died"], 10.0, "c"))
    assert "| 8 yards, no. 1 | 1 | planner | 1 | 2 | 400 | 50.00 | 1 | 0 |" in text
    assert "- x died" in text
    assert "the audit has 1 findings" in text
