"""A day told otherwise has the same best plan, and a day with one rule more has none that is cheaper.

The proved optimum of small invented days is compared before and after a change of which the answer is known
beforehand, without another planner to ask.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from routing.domain.clock import TimeWindow
from routing.domain.operation import Operation
from routing.domain.places import Health, Position
from routing.files.operation.folder import read_operation
from routing.need.syrup import resolve
from routing.planning.exact.proof import prove
from tests.support.folders import TOML_METRIC, TOML_US, metric_tables, us_tables, write_folder
from tests.support.invented.days import day_of
from tests.support.invented.invent import DAY, HOUR, invent_operation

SEEDS = range(1, 4)
YARDS = 5


def best(operation: Operation, day: date = DAY) -> float:
    """The proved optimum of a day, over every choice of syrups in the tanks: cost and value of yards left."""
    prices = []
    for problem in day_of(operation, day):
        proof = prove(problem, None, lambda: 0.0, lambda bound, better: None)
        assert proof.proved
        prices.append(proof.bound)
    return min(prices)


def _shuffled(operation: Operation) -> Operation:
    rng = random.Random(operation.name)

    def mixed(items: dict[str, Any]) -> dict[str, Any]:
        keys = list(items)
        rng.shuffle(keys)
        return {key: items[key] for key in keys}

    groups = rng.sample(operation.groups, len(operation.groups))
    return replace(
        operation,
        yards=mixed(operation.yards),
        depots=mixed(operation.depots),
        trucks=mixed(operation.trucks),
        feeders=mixed(operation.feeders),
        syrups=mixed(operation.syrups),
        groups=tuple(groups),
    )


def _mirrored(operation: Operation) -> Operation:
    """East for west about the middle of the map."""

    def over(at: Position) -> Position:
        return Position(at.lat, -216.0 - at.lon)

    yards = {key: replace(yard, position=over(yard.position)) for key, yard in operation.yards.items()}
    depots = {key: replace(depot, position=over(depot.position)) for key, depot in operation.depots.items()}
    return replace(operation, yards=yards, depots=depots)


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("told_otherwise", [_shuffled, _mirrored], ids=["rows shuffled", "map mirrored"])
def test_the_same_day_has_the_same_best_plan(
    seed: int, told_otherwise: Callable[[Operation], Operation]
) -> None:
    operation = invent_operation(seed, YARDS)
    assert best(told_otherwise(operation)) == pytest.approx(_price(seed), rel=1e-9)


@pytest.mark.parametrize("seed", SEEDS)
def test_a_day_later_costs_the_same(seed: int) -> None:
    operation = invent_operation(seed, YARDS)
    later = timedelta(days=1)
    groups = tuple(replace(group, date=group.date + later) for group in operation.groups)
    assert best(replace(operation, groups=groups), DAY + later) == pytest.approx(_price(seed), rel=1e-9)


def test_gallons_and_litres_cost_the_same(tmp_path: Path) -> None:
    """Doses are whole millilitres per colony, so that typed figures may differ by rounding."""
    us, _ = read_operation(write_folder(tmp_path / "us", us_tables(), TOML_US))
    metric, _ = read_operation(write_folder(tmp_path / "metric", metric_tables(), TOML_METRIC))
    day = date(2026, 9, 12)
    assert best(resolve(metric), day) == pytest.approx(best(resolve(us), day), rel=1e-4)


# One rule more


def _first_yard(operation: Operation, **changes: object) -> Operation:
    key, yard = next(iter(operation.yards.items()))
    return replace(operation, yards=operation.yards | {key: replace(yard, **changes)})  # type: ignore[arg-type]


def _trucks(operation: Operation, **changes: object) -> Operation:
    trucks = {key: replace(truck, **changes) for key, truck in operation.trucks.items()}  # type: ignore[arg-type]
    return replace(operation, trucks=trucks)


def _lighter(operation: Operation) -> Operation:
    trucks = {key: replace(t, gvwr_kg=t.gvwr_kg - 900.0) for key, t in operation.trucks.items()}
    return replace(operation, trucks=trucks)


RULES: dict[str, Callable[[Operation], Operation]] = {
    "a gate": lambda o: _first_yard(o, windows=(TimeWindow(13 * HOUR, 14 * HOUR),)),
    "a disease watched": lambda o: _first_yard(o, health=Health.WATCH),
    "a weak bridge": lambda o: _first_yard(o, max_gross_kg=4_000.0),
    "lighter trucks": _lighter,
    "no pails": lambda o: _trucks(o, pail_slots=0),
    "a shorter day": lambda o: replace(o, shift=replace(o.shift, max_s=7 * HOUR, overtime_s=0)),
    "an earlier break": lambda o: replace(o, shift=replace(o.shift, break_after_s=3 * HOUR)),
}


@cache
def _price(seed: int, rule: str = "") -> float:
    operation = invent_operation(seed, YARDS)
    return best(RULES[rule](operation) if rule else operation)


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("rule", RULES)
def test_a_rule_more_makes_no_day_cheaper(seed: int, rule: str) -> None:
    assert _price(seed, rule) >= _price(seed) - 1e-6


@pytest.mark.parametrize("rule", [rule for rule in RULES if rule != "no pails"])
def test_each_rule_above_binds_on_some_day(rule: str) -> None:
    """A rule that changes nothing anywhere would make the test above empty."""
    assert any(_price(seed, rule) > _price(seed) + 1e-6 for seed in SEEDS)
