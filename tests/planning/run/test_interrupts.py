"""One Ctrl-C ends a search and keeps its plan; another, out of impatience, does not lose it."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
from dataclasses import replace
from typing import Any

import pytest

from routing.domain.operation import Operation
from routing.planning.replan import replan as replan_module
from routing.planning.replan.replan import replan
from routing.planning.run import solve as solve_module
from routing.planning.run.interrupts import forgiving, searched
from routing.planning.run.solve import Outcome, SolveOptions, solve
from tests.support.any_day import plan_here, solve_here
from tests.support.builders import DAY, small_operation, straight_travel
from tests.support.day_player import Driven, Scene, check, played, state
from tests.support.hand import scattered


def press() -> None:
    os.kill(os.getpid(), signal.SIGINT)


@pytest.fixture
def scene() -> Scene:
    operation: Operation = small_operation()
    travel = straight_travel(operation)
    return Scene(operation, travel, replace(plan_here(operation, travel, DAY, 40), plan_id="morning"))


def test_the_second_press_is_told_and_forgiven_and_the_third_is_not() -> None:
    said: list[str] = []
    with forgiving(lambda: said.append("one moment")):
        with pytest.raises(KeyboardInterrupt):
            press()
        press()
        assert said == ["one moment"]
        with pytest.raises(KeyboardInterrupt):
            press()
    assert said == ["one moment"]


def test_the_first_press_after_the_search_loses_nothing() -> None:
    said: list[str] = []
    with forgiving(lambda: said.append("being written")):
        searched()
        press()
        assert said == ["being written"]
        with pytest.raises(KeyboardInterrupt):
            press()
    searched()
    assert signal.getsignal(signal.SIGINT) is signal.default_int_handler


def test_presses_are_counted_by_the_outermost_and_all_is_as_before_after_it() -> None:
    with forgiving():
        with forgiving(), pytest.raises(KeyboardInterrupt):
            press()
        press()
    assert signal.getsignal(signal.SIGINT) is signal.default_int_handler
    with pytest.raises(KeyboardInterrupt):
        press()


def test_a_handler_of_the_caller_is_left_alone() -> None:
    seen: list[int] = []
    before = signal.signal(signal.SIGINT, lambda number, frame: seen.append(number))
    try:
        with forgiving():
            press()
    finally:
        signal.signal(signal.SIGINT, before)
    assert seen == [signal.SIGINT]


def test_away_from_the_main_thread_nothing_is_changed() -> None:
    handlers: list[Any] = []

    def inside() -> None:
        with forgiving():
            handlers.append(signal.getsignal(signal.SIGINT))

    thread = threading.Thread(target=inside)
    thread.start()
    thread.join()
    assert handlers == [signal.default_int_handler]


def test_a_second_press_before_any_worker_answered_keeps_the_plan(monkeypatch: pytest.MonkeyPatch) -> None:
    real, started = subprocess.Popen, []

    def mute(command: list[str], **more: Any) -> Any:
        started.append(real([sys.executable, "-c", "import time; time.sleep(600)"], **more))
        if len(started) == 2:
            threading.Timer(0.2, press).start()
        return started[-1]

    adopt = solve_module.adopt

    def impatient(*given: Any) -> Any:
        press()
        return adopt(*given)

    monkeypatch.setattr(subprocess, "Popen", mute)
    monkeypatch.setattr(solve_module, "adopt", impatient)
    problem = scattered(10, 3)
    outcome = solve([problem], SolveOptions(60.0))
    assert outcome.stopped
    assert any(outcome.solution.routes)
    assert outcome.troubles[-1] == "no engine answered: this plan is by insertion only"
    assert all(worker.poll() is not None for worker in started)


@pytest.mark.parametrize("stopped", [True, False])
def test_a_re_plan_stopped_by_hand_starts_no_second_search(
    stopped: bool, scene: Scene, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A truck that leaves the yard it stands in has the day stated anew; it is searched where one waits."""
    route = scene.plan.routes[0]
    stop = next(s for s in route.stops if s.kind == "yard")
    now = stop.begin + (stop.leave - stop.begin) / 2
    found: list[Outcome] = []

    def search(*given: Any) -> Outcome:
        found.append(replace(solve_here(*given), stopped=stopped))
        return found[-1]

    monkeypatch.setattr(replan_module, "solve", search)
    monkeypatch.setattr(replan_module, "_leaving", lambda *given: frozenset({route.truck_id}))
    at_work = state(scene, now, played(scene.plan, now))
    made = replan(scene.operation, scene.travel, scene.plan, at_work, SolveOptions(None, 25))
    assert len(found) == (1 if stopped else 2)
    check(Driven(made.remaining, replace(made.plan, plan_id="again"), scene, at_work))
