"""Put several workers on a day, keep the best plan they tell of, and survive the loss of any."""

from __future__ import annotations

import contextlib
import os
import pickle
import queue
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import inf

from routing.planning.evaluate.state import Judge, closed, slack
from routing.planning.problem.problem import Problem, Solution
from routing.planning.run.bounds import share_of_time
from routing.planning.run.interrupts import forgiving
from routing.planning.run.worker import Found, Job
from routing.planning.search.backend import PYTHON
from routing.planning.search.search import adopt

START_UP_S = 20.0
# Stating a day and its first local search cannot be cut short, and grow with it.
START_UP_A_VISIT_S = 0.03
GRACE_S = 3.0
LONGEST_BY_ITERATIONS_S = 3600.0
ANSWERED = -1
"""By whose number the answer that goes ahead of the workers is kept."""


@dataclass(frozen=True)
class SolveOptions:
    """How long to search. With ``iterations`` and no ``seconds`` the result depends on the seed alone."""

    seconds: float | None = 10.0
    iterations: int | None = None
    seed: int = 1
    workers: int = 2


@dataclass(frozen=True)
class Progress:
    """The best plan so far: what it costs, what it leaves, and which stage found it.

    ``gap``: no plan is cheaper by more than this share of the objective; None while not known. ``share`` of
    the stage is done; None where it is not known.
    """

    elapsed_s: float
    objective: float
    unserved: int
    stage: str
    gap: float | None = None
    share: float | None = None


@dataclass(frozen=True)
class Outcome:
    """The best plan, the problem it solves, and what went wrong on the way (in plain words).

    ``bound`` is below the objective of every plan of the day that leaves no more required visits than this
    one (minus infinity where nothing is known), found by ``method``; ``proved``: no plan is better.
    ``stopped``: somebody did not want to wait for more.
    """

    variant: int
    solution: Solution
    troubles: tuple[str, ...] = ()
    bound: float = -inf
    proved: bool = False
    method: str = ""
    stopped: bool = False


def solve(
    problems: Sequence[Problem],
    options: SolveOptions,
    on_progress: Callable[[Progress], None] | None = None,
    bounded: Sequence[Problem] = (),
) -> Outcome:
    """Search several problems that state the same day, with several seeds at once.

    ``bounded`` are problems that together allow every plan of the day: it is bounded by them, where given.
    The search ends early when the best plan is proved (not when it goes by iterations: the same seed must
    give the same plan). Ctrl-C ends the search and keeps the best plan found so far; so does a second one.
    """
    if not problems[0].visits or not problems[0].trucks:
        judge = Judge(problems[0])
        return Outcome(0, adopt(judge, ((),) * len(problems[0].trucks)).solution())
    with forgiving():
        return _solve(_Crew(problems, options, on_progress, bounded))


def _solve(crew: _Crew) -> Outcome:
    troubles, stopped = [], False
    try:
        crew.answer_at_once()
        crew.start()
        troubles = crew.wait()
    except KeyboardInterrupt:
        troubles, stopped = ["stopped by hand: this is the best plan found until then"], True
    finally:
        crew.end()
    best = crew.best()
    if best is not None:
        return replace(crew.outcome(best, troubles), stopped=stopped)
    problem = crew.problems[0]
    state = adopt(Judge(problem), problem.habit.routes if problem.habit else ((),) * len(problem.trucks))
    troubles.append("no engine answered: this plan is by insertion only")
    return Outcome(0, state.solution(), tuple(troubles), stopped=stopped)


class _Crew:
    """The workers of one search."""

    def __init__(
        self,
        problems: Sequence[Problem],
        options: SolveOptions,
        on_progress: Callable[[Progress], None] | None,
        bounded: Sequence[Problem],
    ) -> None:
        self.options, self.on_progress = options, on_progress
        self.started = time.monotonic()
        self.heard: queue.Queue[tuple[int, Found | None]] = queue.Queue()
        self.told: dict[int, Found] = {}
        self.told_price = inf
        self.bound, self.method = -inf, ""
        self.workers: list[subprocess.Popen[bytes]] = []
        self.problems, self.bounded = tuple(problems), tuple(bounded)

    def start(self) -> None:
        """Start the workers, each known to ``end`` as soon as it runs."""
        for number in range(max(1, self.options.workers)):
            self.workers.append(self._start(number))

    def answer_at_once(self) -> None:
        """Tell of the plan by cheapest insertion into what was told before, ahead of the workers."""
        problem = self.problems[0]
        if problem.habit is None or self.on_progress is None:
            return
        state = adopt(Judge(problem), problem.habit.routes, PYTHON)
        self.told[ANSWERED] = Found(0, state.solution(), state.price, "insertion")
        self.told_price = state.price
        elapsed = time.monotonic() - self.started
        solution = state.solution()
        self.on_progress(Progress(elapsed, solution.objective, len(solution.unserved), "insertion"))

    def _start(self, number: int) -> subprocess.Popen[bytes]:
        job = self._job(number)
        worker = subprocess.Popen(
            [sys.executable, "-c", "from routing.planning.run.worker import main; main()"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
            env={**os.environ, "PYTHONHASHSEED": "0", "OMP_NUM_THREADS": "1"},
        )
        threading.Thread(target=self._speak, args=(worker, pickle.dumps(job)), daemon=True).start()
        threading.Thread(target=self._listen, args=(number, worker), daemon=True).start()
        return worker

    def _job(self, number: int) -> Job:
        """A worker's job; the last one keeps some of its time to bound the day."""
        options = self.options
        share = 0.0
        if self.bounded and number == max(1, options.workers) - 1:
            share = share_of_time(len(self.problems[0].visits), options.seconds, alone=not number)
        return Job(
            self.problems,
            options.seed + 1000 * number,
            options.seconds,
            options.iterations,
            number,
            self.bounded if share else (),
            share,
            None if options.seconds is None else self._longest_s(),
        )

    @staticmethod
    def _speak(worker: subprocess.Popen[bytes], job: bytes) -> None:
        with contextlib.suppress(OSError):
            if worker.stdin is not None:
                worker.stdin.write(job)
                worker.stdin.close()

    def _listen(self, number: int, worker: subprocess.Popen[bytes]) -> None:
        try:
            while worker.stdout is not None:
                found = pickle.load(worker.stdout)
                if not isinstance(found, Found):
                    raise TypeError(f"no plan but {type(found).__name__}")
                self.heard.put((number, found))
        except Exception:
            # The pipe ended, or a dying worker left half a message: either way it speaks no more.
            self.heard.put((number, None))

    def _deadline(self) -> float:
        return self.started + self._longest_s()

    def _longest_s(self) -> float:
        """How long the workers may take in all."""
        seconds = self.options.seconds
        if seconds is None:
            return LONGEST_BY_ITERATIONS_S
        return seconds + START_UP_S + START_UP_A_VISIT_S * len(self.problems[0].visits)

    def wait(self) -> list[str]:
        """Listen until every worker is done, dead or out of time; tell what went wrong."""
        working, troubles = set(range(len(self.workers))), []
        deadline = self._deadline()
        while working:
            try:
                number, found = self.heard.get(timeout=max(0.0, deadline - time.monotonic()))
            except queue.Empty:
                troubles += [
                    f"engine {w + 1} hung and was ended; its best plan was kept" for w in sorted(working)
                ]
                break
            if found is None:
                if number in working:
                    troubles.append(f"engine {number + 1} died; its best plan was kept")
                working.discard(number)
                continue
            self._note(number, found)
            if found.final and found.trouble:
                troubles.append(found.trouble)
            if self.options.iterations is None and closed(self.told_price, self.bound):
                break
            if found.final:
                working.discard(number)
                if self.options.seconds is not None:
                    deadline = min(deadline, time.monotonic() + self._patience())
        return troubles

    def _patience(self) -> float:
        """Once one worker is done, how long the others may still take."""
        return GRACE_S + 0.2 * (self.options.seconds or 0.0)

    def _note(self, number: int, found: Found) -> None:
        if number not in self.told or found.price <= self.told[number].price:
            self.told[number] = found
        better = found.price < self.told_price - 1e-9
        higher = found.bound > self.bound
        self.told_price = min(self.told_price, found.price)
        if higher:
            self.bound, self.method = found.bound, found.method
        if self.on_progress is None or not (better or higher):
            return
        best = self.best()
        if best is not None:
            self._tell(best)

    def _tell(self, best: Found) -> None:
        """Tell of the best plan, and how much cheaper than it any plan can be at most."""
        price = best.solution.objective
        gap = max(0.0, 1.0 - self._low(best) / price) if self.bound > -inf and price > 0 else None
        elapsed, unserved = time.monotonic() - self.started, len(best.solution.unserved)
        if self.on_progress is not None:
            self.on_progress(Progress(elapsed, price, unserved, best.stage, gap))

    def _low(self, best: Found) -> float:
        """The bound on objectives of plans that leave no more required visits than this one."""
        missed = sum(self.problems[best.variant].visits[v].required for v in best.solution.unserved)
        return self.bound - (self.bounded[0].dear * missed if missed and self.bounded else 0.0)

    def best(self) -> Found | None:
        """The cheapest plan told; among equals the first worker's."""
        told = [self.told[w] for w in sorted(self.told)]
        return min(told, key=lambda found: round(found.price, 6), default=None)

    def outcome(self, best: Found, troubles: Sequence[str]) -> Outcome:
        """The best plan with the bound, which is dropped where a plan is cheaper: then it was none."""
        if self.bound > best.price + slack(best.price):
            troubles = (*troubles, "the bound found was above the plan: none is stated")
            return Outcome(best.variant, best.solution, tuple(troubles))
        proved = closed(best.price, self.bound)
        return Outcome(best.variant, best.solution, tuple(troubles), self._low(best), proved, self.method)

    def end(self) -> None:
        """End what still runs."""
        for worker in self.workers:
            if worker.poll() is None:
                worker.kill()
            worker.wait()
            for pipe in (worker.stdin, worker.stdout):
                if pipe is not None:
                    with contextlib.suppress(OSError):
                        pipe.close()
