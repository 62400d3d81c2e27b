"""No dose of any plan can be altered, and no colony left out, without the audit seeing it."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import replace

import pytest

from routing.audit.evidence.ration import reason_for_none, shares
from routing.audit.evidence.replay import open_book
from routing.audit.rules import doses
from routing.domain.errors import NoPlanError
from routing.domain.operation import Operation
from routing.domain.plan import Plan, Pour, Unserved
from routing.domain.travel import Travel
from routing.need.ration import need_of_day
from tests.audit.mangle import with_leaf
from tests.support.any_day import plan_here
from tests.support.any_operation import any_operation
from tests.support.builders import small_case

STEP_L = 0.002
"""Doses are whole millilitres; a colony's altered by less than two is lost in rounding."""


@pytest.mark.parametrize("seed", range(60))
def test_two_statements_of_every_share_agree(seed: int) -> None:
    operation, travel, day = any_operation(seed)
    book = open_book(operation, travel, replace(small_case().plan, date=day, routes=(), unserved=()))
    for need in need_of_day(operation, day):
        yard = operation.yards[need.yard_id]
        assert reason_for_none(book, yard) == (need.reason_code or "")
        given = {dose.group: dose.each_l for dose in need.doses}
        own = {name: share.each_l for name, share in shares(book, yard).items() if not share.reason}
        assert given.keys() == own.keys()
        for name, each_l in given.items():
            assert any(each_l == pytest.approx(one, abs=1e-6) for one in own[name]), (need.yard_id, name)


def found(operation: Operation, travel: Travel, plan: Plan) -> set[str]:
    """Codes that the rules on doses alone find: they look at no sum, so mended sums hide nothing."""
    book = open_book(operation, travel, plan)
    return {finding.code for rule in doses.RULES for finding in rule.findings(book)}


def altered(plan: Plan, rng: random.Random) -> Iterator[tuple[str, Plan]]:
    """The plan with each pour, and each yard that is left, altered in a way of its own."""
    for r, route in enumerate(plan.routes):
        for s, stop in enumerate(route.stops):
            for p, pour in enumerate(stop.pour):
                changed = _altered_pour(pour, rng)
                yield "pour", with_leaf(plan, ("routes", r, "stops", s, "pour", p), changed)
    for u, left in enumerate(plan.unserved):
        yield "left", with_leaf(plan, ("unserved", u), _altered_left(left, rng))
        if left.volume_l:
            yield "dropped", replace(plan, unserved=(*plan.unserved[:u], *plan.unserved[u + 1 :]))


def _altered_pour(pour: Pour, rng: random.Random) -> Pour:
    share = rng.choice((0.02, 0.5, 0.98, 1.01, 1.5))
    if rng.random() < 0.3 and pour.colonies > 1:
        fewer = rng.randrange(1, pour.colonies)
        return replace(pour, colonies=fewer, volume_l=pour.volume_l * fewer / pour.colonies)
    off_l = max(STEP_L * pour.colonies, abs(pour.volume_l * (share - 1)))
    return replace(pour, volume_l=pour.volume_l + (off_l if share > 1 else -off_l))


def _altered_left(left: Unserved, rng: random.Random) -> Unserved:
    if not left.volume_l:
        other = rng.choice([c for c in ("closed", "supers_on", "stores_enough") if c != left.reason_code])
        return replace(left, reason_code=other)
    if rng.random() < 0.5:
        return replace(left, colonies=left.colonies - 1)
    return replace(left, volume_l=left.volume_l - STEP_L * (left.colonies + 2))


def altered_doses(seed: int) -> int:
    """How many doses of the plan of a seed were altered; each is found, and the plan itself is right."""
    operation, travel, day = any_operation(seed)
    try:
        plan = plan_here(operation, travel, day, iterations=10)
    except NoPlanError:
        return 0
    assert found(operation, travel, plan) == set(), seed
    tries = 0
    for how, other in altered(plan, random.Random(seed)):
        assert found(operation, travel, other), (seed, how)
        tries += 1
    return tries


def test_any_one_dose_altered_is_found() -> None:
    assert sum(altered_doses(seed) for seed in range(60, 84)) > 100


def test_starving_yards_cut_to_a_fiftieth_are_found() -> None:
    operation, travel, plan = small_case()
    stop = next(i for i, stop in enumerate(plan.routes[0].stops) if stop.place_id == "Y3")
    cut = with_leaf(plan, ("routes", 0, "stops", stop, "pour", 0, "volume_l"), 300.0 * 0.02)
    assert found(operation, travel, cut) == {"dose"}


def test_one_of_thirty_colonies_fed_and_29_listed_nowhere_is_found() -> None:
    operation, travel, plan = small_case()
    stop = next(i for i, stop in enumerate(plan.routes[0].stops) if stop.place_id == "Y3")
    (whole,) = plan.routes[0].stops[stop].pour
    one = replace(whole, colonies=1, volume_l=10.0)
    assert found(operation, travel, with_leaf(plan, ("routes", 0, "stops", stop, "pour", 0), one)) == {
        "left_short"
    }
