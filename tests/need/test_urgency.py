from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest

from routing.domain.operation import Operation
from routing.domain.places import Priority
from routing.domain.settings import CostSettings
from routing.need.urgency import chance_of_running_out, unfed_value_per_colony
from tests.support import samples
from tests.support.farm import farm, group


def test_the_chance_follows_the_log_logistic_distribution() -> None:
    """Nine of ten within the factor: 5 % and 95 % stand at days / 1.6 and days x 1.6 by definition."""
    assert chance_of_running_out(10, 10, 1.6) == pytest.approx(0.5)
    assert chance_of_running_out(10 * 1.6, 10, 1.6) == pytest.approx(0.05)
    assert chance_of_running_out(10 / 1.6, 10, 1.6) == pytest.approx(0.95)
    # Worked by hand: shape ln 19 / ln 1.6 = 6.2647; 0.9 ** 6.2647 = 0.5168; 1 / 1.5168.
    assert chance_of_running_out(9, 10, 1.6) == pytest.approx(0.6593, abs=1e-4)


def test_the_chance_falls_smoothly_with_no_step_anywhere() -> None:
    chances = [chance_of_running_out(days / 10, 10, 1.6) for days in range(700)]
    assert chances == sorted(chances, reverse=True)
    assert max(a - b for a, b in pairwise(chances)) < 0.02


@pytest.mark.parametrize(
    ("days", "ahead", "chance"), [(0, 10, 1), (0, 0, 0), (5, 0, 0), (999, 1e-3, 0), (1e-9, 365, 1)]
)
def test_the_chance_at_the_ends(days: float, ahead: float, chance: float) -> None:
    assert chance_of_running_out(days, ahead, 1.05) == pytest.approx(chance)


def _worth(days: float, priority: Priority = Priority.NORMAL) -> float:
    operation: Operation = farm(group(), yard=samples.yard("Y1", priority=priority), next_visit_days=10)
    cost = CostSettings(drop_value_per_colony=40, loss_per_colony=200, priority_high=3, priority_low=0.25)
    return unfed_value_per_colony(replace(operation, cost=cost), "Y1", days)


def test_a_colony_that_has_plenty_is_worth_its_drop_value_and_a_starving_one_its_loss_besides() -> None:
    assert _worth(999) == pytest.approx(40)
    assert _worth(10) == pytest.approx(140)
    assert _worth(0) == pytest.approx(240)


def test_priority_weighs_the_value() -> None:
    assert _worth(10, Priority.HIGH) == _worth(10, Priority.MUST) == pytest.approx(420)
    assert _worth(10, Priority.LOW) == pytest.approx(35)
