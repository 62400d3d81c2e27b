"""The search survives workers that hang, die or speak nonsense, and an impatient keeper."""

from __future__ import annotations

import pickle
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from routing.files.plan.plan_json import dump_plan, with_digest
from routing.need.ration import need_of_day
from routing.planning.evaluate.state import INFEASIBLE, Judge
from routing.planning.plan.day import DayOptions, plan_day
from routing.planning.problem.problem import Problem
from routing.planning.run import solve as solve_module
from routing.planning.run.solve import Progress, SolveOptions, solve
from routing.planning.run.worker import Job
from routing.planning.search.search import adopt
from tests.support.any_operation import any_operation
from tests.support.hand import scattered

PROBLEM = scattered(10, 3)
HANG = "import time; time.sleep(600)"
DIE = "import sys; sys.exit(1)"
GARBAGE = "import sys; sys.stdout.buffer.write(b'\\x80\\x04plan: go north' * 50)"
STRANGE = "import sys, pickle; pickle.dump(['go', 'north'], sys.stdout.buffer)"
HALF = (
    "import sys, pickle\n"
    "from routing.planning.run.worker import Found, Job, work\n"
    "job = pickle.load(sys.stdin.buffer)\n"
    "told = []\n"
    "work(job, told.append)\n"
    "pickle.dump(told[0], sys.stdout.buffer)\n"
    "sys.stdout.buffer.write(pickle.dumps(told[-1])[:40])\n"
)
DEAF = "import os, time; os.close(0); time.sleep(0.2)"


@pytest.fixture
def crew(monkeypatch: pytest.MonkeyPatch) -> Callable[..., list[Any]]:
    """Replace the code of workers, by number (None: the real one); gives the processes started."""
    real: type = subprocess.Popen
    started: list[Any] = []
    monkeypatch.setattr(solve_module, "START_UP_S", 1.0)
    monkeypatch.setattr(solve_module, "GRACE_S", 0.5)

    def hire(*codes: str | None) -> list[Any]:
        def popen(command: list[str], **more: Any) -> Any:
            code = codes[len(started)]
            worker = real(command if code is None else [sys.executable, "-c", code], **more)
            started.append(worker)
            return worker

        monkeypatch.setattr(subprocess, "Popen", popen)
        return started

    return hire


def insertion(problem: Problem) -> float:
    return adopt(Judge(problem), ((),) * len(problem.trucks)).objective


def lawful(problem: Problem, routes: tuple[tuple[int, ...], ...]) -> bool:
    return all(Judge(problem)(k, stops).cost < INFEASIBLE for k, stops in enumerate(routes))


def test_within_seconds_a_worker_that_hangs_is_ended_and_told_of(crew: Callable[..., list[Any]]) -> None:
    started = crew(HANG, None)
    began = time.monotonic()
    outcome = solve([PROBLEM], SolveOptions(1.5, 40, seed=1))
    assert time.monotonic() - began < 30
    assert any("engine 1 hung" in text for text in outcome.troubles)
    assert lawful(PROBLEM, outcome.solution.routes)
    assert all(worker.poll() is not None for worker in started)


@pytest.mark.parametrize("code", [DIE, GARBAGE, STRANGE, DEAF], ids=["dies", "nonsense", "strange", "deaf"])
def test_a_worker_that_dies_or_speaks_nonsense_is_told_of(code: str, crew: Callable[..., list[Any]]) -> None:
    crew(code, None)
    outcome = solve([PROBLEM], SolveOptions(None, 30, seed=1))
    assert outcome.troubles == ("engine 1 died; its best plan was kept",)
    assert outcome.solution.objective <= insertion(PROBLEM) + 1e-6
    assert lawful(PROBLEM, outcome.solution.routes)


def test_the_plan_told_before_a_worker_died_in_mid_word_is_kept(crew: Callable[..., list[Any]]) -> None:
    crew(HALF)
    outcome = solve([PROBLEM], SolveOptions(None, 30, workers=1))
    assert outcome.troubles == ("engine 1 died; its best plan was kept",)
    assert outcome.solution.objective == pytest.approx(insertion(PROBLEM))


def test_without_any_answer_the_plan_is_by_insertion_and_says_so(crew: Callable[..., list[Any]]) -> None:
    crew(DIE, GARBAGE)
    outcome = solve([PROBLEM], SolveOptions(None, 30))
    assert outcome.troubles[-1] == "no engine answered: this plan is by insertion only"
    assert outcome.solution.objective == pytest.approx(insertion(PROBLEM))
    assert lawful(PROBLEM, outcome.solution.routes)


def test_ctrl_c_keeps_the_best_plan_found_and_ends_the_workers(crew: Callable[..., list[Any]]) -> None:
    started = crew(None, None)
    seen: list[Progress] = []

    def impatient(progress: Progress) -> None:
        seen.append(progress)
        raise KeyboardInterrupt

    outcome = solve([PROBLEM], SolveOptions(60.0), impatient)
    assert outcome.troubles == ("stopped by hand: this is the best plan found until then",)
    assert outcome.solution.objective == pytest.approx(seen[0].objective)
    assert all(worker.poll() is not None for worker in started)


def test_ctrl_c_while_the_workers_start_ends_those_that_run(monkeypatch: pytest.MonkeyPatch) -> None:
    started: list[Any] = []
    real: type = subprocess.Popen

    def one_then_stop(*args: Any, **more: Any) -> Any:
        if started:
            raise KeyboardInterrupt
        started.append(real(*args, **more))
        return started[0]

    monkeypatch.setattr(subprocess, "Popen", one_then_stop)
    outcome = solve([PROBLEM], SolveOptions(60.0))
    assert "stopped by hand" in outcome.troubles[0]
    assert lawful(PROBLEM, outcome.solution.routes)
    assert started[0].poll() is not None


def test_progress_tells_of_ever_better_plans() -> None:
    told: list[Progress] = []
    problem = scattered(14, 8)
    outcome = solve([problem], SolveOptions(None, 60), told.append)
    assert told
    required = any(v.required for v in problem.visits)
    assert not required or told[-1].unserved <= told[0].unserved
    if not required:
        assert [p.objective for p in told] == sorted((p.objective for p in told), reverse=True)
    assert [p.elapsed_s for p in told] == sorted(p.elapsed_s for p in told)
    assert told[-1].objective == pytest.approx(outcome.solution.objective)
    assert {p.stage for p in told} <= {"insertion", "routing", "polishing", "done", "proving"}


def test_a_day_without_visits_or_trucks_starts_no_worker(crew: Callable[..., list[Any]]) -> None:
    started = crew()
    empty = scattered(0, 1)
    assert solve([empty], SolveOptions()).solution.routes == ((), ())
    assert started == []


def test_the_same_seed_and_iterations_give_the_same_file_to_the_byte() -> None:
    operation, travel, day = any_operation(373)
    needs = need_of_day(operation, day)
    options = DayOptions(search=SolveOptions(None, 40, seed=7))
    texts = [dump_plan(with_digest(plan_day(operation, travel, needs, day, options))) for _ in range(2)]
    assert texts[0] == texts[1]


def test_a_worker_prints_nothing_of_its_own_into_its_messages() -> None:
    """Anything an engine prints goes to standard error; standard output holds messages alone."""
    code = (
        "import pickle, sys\n"
        "from routing.planning.run import worker\n"
        "real = worker.work\n"
        "def loud(job, tell):\n"
        "    print('a line that an engine prints')\n"
        "    return real(job, tell)\n"
        "worker.work = loud\n"
        "worker.main()\n"
    )
    job = pickle.dumps(Job((PROBLEM,), 1, None, 20))
    done = subprocess.run(
        [sys.executable, "-c", code], input=job, capture_output=True, timeout=60, check=True
    )
    assert b"a line that" not in done.stdout
    assert b"a line that" in done.stderr


def test_a_small_day_is_proved_and_the_search_ends_at_once() -> None:
    small = scattered(6, 5)
    told: list[Progress] = []
    outcome = solve([small], SolveOptions(60.0, None, workers=2), told.append, [small])
    assert outcome.proved
    assert outcome.bound == pytest.approx(outcome.solution.objective, rel=1e-6)
    assert told[-1].gap == pytest.approx(0.0, abs=1e-6)


def test_by_iterations_the_same_seed_gives_the_same_plan_and_bound() -> None:
    day = scattered(14, 6)
    first, second = (solve([day], SolveOptions(None, 60, seed=2), bounded=[day]) for _ in range(2))
    assert (first.solution, first.bound) == (second.solution, second.bound)
    assert first.bound <= first.solution.objective + 1e-6


def test_a_bound_above_a_plan_is_no_bound_and_said_so(crew: Callable[..., list[Any]]) -> None:
    liar = (
        "import sys, pickle\n"
        "from dataclasses import replace\n"
        "from routing.planning.run.worker import Found, Job, work\n"
        "job = pickle.load(sys.stdin.buffer)\n"
        "found = work(replace(job, bounded=()), lambda found: None)\n"
        "pickle.dump(replace(found, bound=found.price + 10), sys.stdout.buffer)\n"
    )
    crew(None, liar)
    outcome = solve([PROBLEM], SolveOptions(None, 30), bounded=[PROBLEM])
    assert outcome.bound == float("-inf")
    assert not outcome.proved
    assert outcome.troubles == ("the bound found was above the plan: none is stated",)


def test_required_visits_left_out_are_taken_off_the_bound() -> None:
    """A day with a visit that nobody can reach in time: its price is no part of the plan's objective."""
    small = scattered(5, 5)
    far = replace(small.visits[0], required=True, windows=((0, 1),))
    day = replace(small, visits=(far, *small.visits[1:]))
    outcome = solve([day], SolveOptions(None, 2000), bounded=[day])
    assert 0 in outcome.solution.unserved
    assert 0 < outcome.bound <= outcome.solution.objective + 1e-6


def test_an_engine_that_refuses_a_day_is_told_of_and_the_search_goes_on(
    crew: Callable[..., list[Any]],
) -> None:
    broken = (
        "import routing.planning.run.worker as worker\n"
        "def refuse(*given): raise ValueError('too many gates')\n"
        "worker.find_starts = refuse\n"
        "worker.main()\n"
    )
    crew(broken, broken)
    outcome = solve([PROBLEM], SolveOptions(None, 400))
    assert all("too many gates" in text for text in outcome.troubles)
    assert len(outcome.troubles) == 2
    assert outcome.solution.objective <= insertion(PROBLEM)


def test_yards_cut_otherwise_in_one_choice_of_tanks_do_not_stop_the_bound() -> None:
    whole = scattered(6, 5)
    cut = replace(whole, visits=(*whole.visits, whole.visits[0]))
    outcome = solve([cut], SolveOptions(None, 200), bounded=[cut, whole])
    assert not outcome.troubles
    assert float("-inf") < outcome.bound <= outcome.solution.objective + 0.01


def test_the_gap_told_leaves_out_the_price_of_what_nobody_can_reach() -> None:
    small = scattered(5, 5)
    far = replace(small.visits[0], required=True, windows=((0, 1),))
    day = replace(small, visits=(far, *small.visits[1:]))
    told: list[Progress] = []
    outcome = solve([day], SolveOptions(None, 2000), told.append, [day])
    assert told[-1].gap == pytest.approx(max(0.0, 1 - outcome.bound / outcome.solution.objective), abs=1e-6)
