"""Whatever was acknowledged outlives a kill at any moment: a slice of `make reliability`."""

from __future__ import annotations

import os

import pytest

from tests.support.kills import VERBS, Ground

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork and kill -9")


@pytest.fixture(scope="module")
def ground(tmp_path_factory: pytest.TempPathFactory) -> Ground:
    return Ground(tmp_path_factory.mktemp("kills"), seed=5)


@pytest.mark.parametrize("verb", VERBS)
def test_nothing_acknowledged_is_lost_and_nothing_is_half_written(ground: Ground, verb: str) -> None:
    kill, _ = VERBS[verb]
    tally = kill(ground, 8)
    assert tally.faults == []
    assert tally.killed > 0
