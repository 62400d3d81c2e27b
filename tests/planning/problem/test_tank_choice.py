"""Which syrup goes into which free tank."""

from __future__ import annotations

import random
import subprocess
import sys
from itertools import product

import pytest

from routing.planning.problem.tank_choice import (
    Assignment,
    TankChoice,
    _best_of_all,
    _by_cp_sat,
    assign_tanks,
    worth,
)

BOTH = (0, 1)
ALL = frozenset({0, 1})


def carried(tanks: list[TankChoice], choice: Assignment, syrup: int) -> int:
    return sum(t.capacity_ml for t, s in zip(tanks, choice, strict=True) if s == syrup)


def test_tanks_follow_the_need() -> None:
    tanks = [TankChoice(0, 1_000_000, BOTH), TankChoice(0, 200_000, BOTH)]
    best = assign_tanks(tanks, (900_000, 150_000), {(0, ALL): 900_000, (1, ALL): 150_000})[0]
    assert best == (0, 1)
    best = assign_tanks(tanks, (150_000, 900_000), {(0, ALL): 150_000, (1, ALL): 900_000})[0]
    assert best == (1, 0)


def test_a_dedicated_tank_holds_its_syrup() -> None:
    tanks = [TankChoice(0, 1_000_000, (1,)), TankChoice(0, 200_000, BOTH)]
    for choice in assign_tanks(tanks, (900_000, 10_000), {(0, ALL): 900_000}):
        assert choice[0] == 1


def test_a_yard_that_one_truck_alone_may_enter_gets_its_syrup_on_that_truck() -> None:
    tanks = [TankChoice(0, 1_000_000, BOTH), TankChoice(1, 300_000, BOTH)]
    narrow = frozenset({1})
    best = assign_tanks(tanks, (950_000, 50_000), {(0, ALL): 950_000, (1, narrow): 50_000})[0]
    assert best == (0, 1)


def test_a_syrup_nobody_asks_for_gets_no_tank_when_another_is_short() -> None:
    tanks = [TankChoice(0, 500_000, BOTH), TankChoice(1, 500_000, BOTH)]
    assert assign_tanks(tanks, (2_000_000, 0), {(0, ALL): 2_000_000})[0] == (0, 0)


def test_further_choices_differ_in_what_some_truck_can_carry() -> None:
    tanks = [TankChoice(0, 500_000, BOTH), TankChoice(0, 500_000, BOTH), TankChoice(1, 300_000, BOTH)]
    found = assign_tanks(tanks, (700_000, 500_000), {(0, ALL): 700_000, (1, ALL): 500_000})
    assert 2 <= len(found) <= 3
    by_truck = {
        tuple(sorted((t.truck, s, t.capacity_ml) for t, s in zip(tanks, choice, strict=True)))
        for choice in found
    }
    assert len(by_truck) == len(found)


def test_without_tanks_there_is_one_choice_and_it_is_empty() -> None:
    assert assign_tanks([], (100,), {(0, ALL): 100}) == [()]


@pytest.mark.parametrize("need", [(400_000, 300_000), (100_000, 900_000), (1_500_000, 200_000)])
def test_the_first_choice_lets_the_worst_covered_syrup_be_covered_best(need: tuple[int, int]) -> None:
    tanks = [TankChoice(k, ml, BOTH) for k, ml in ((0, 600_000), (0, 250_000), (1, 400_000), (1, 150_000))]

    def worst(choice: Assignment) -> float:
        return min(min(1.0, carried(tanks, choice, s) / need[s]) for s in BOTH)

    best = assign_tanks(tanks, need, {(0, ALL): need[0], (1, ALL): need[1]})[0]
    assert worst(best) == pytest.approx(max(worst(c) for c in product(BOTH, repeat=4)), abs=0.004)


@pytest.mark.parametrize("seed", range(20))
def test_trying_all_and_cp_sat_find_choices_of_the_same_worth(seed: int) -> None:
    dice = random.Random(seed)
    tanks = [
        TankChoice(k // 2, dice.randrange(100, 1000), dice.choice([BOTH, BOTH, (0,), (1,)])) for k in range(6)
    ]
    need = (dice.randrange(1, 3000), dice.randrange(0, 3000))
    trucks = [frozenset(dice.sample(range(3), dice.randint(1, 3))) for _ in range(3)]
    reach = {(dice.randrange(2), some): 100 for some in trucks}
    tried = _best_of_all(tanks, need, reach)[:3]
    solved = _by_cp_sat(tanks, need, reach, 3)
    assert [worth(tanks, need, reach, c) for c in tried] == [worth(tanks, need, reach, c) for c in solved]


def test_ctrl_c_is_still_heard_after_the_tanks_are_chosen() -> None:
    """The solver must not keep the signal: the keeper who stops a search gets its best plan."""
    code = """
import os, signal, sys, time
from routing.planning.problem.tank_choice import TankChoice, assign_tanks
many = [TankChoice(k, 1000, (0, 1)) for k in range(12)]
assign_tanks(many, (9000, 1000), {(0, frozenset({0})): 900})
assert "ortools" in sys.modules
try:
    os.kill(os.getpid(), signal.SIGINT)
    time.sleep(5)
except KeyboardInterrupt:
    print("heard")
"""
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert ran.stdout == "heard\n", ran.stderr
