"""Plan a day with OR-Tools' routing library, from nothing or from given routes, by its processor time.

The library knows the clock alone, and asks nobody else often enough to be stopped in time. So it works in a
process of its own that tells each improvement, and is ended when it has used its time.
"""

from __future__ import annotations

import os
import pickle
import signal
import threading
import time
from typing import BinaryIO

from routing.planning.engines.ortools_routing import Limit, exact_plans, library_routes
from routing.planning.evaluate.state import Judge, State
from routing.planning.problem.problem import Problem, Stops

KEPT = 4
WAIT = 30.0
"""How many times longer it may take by the clock, on a machine that others use."""
LOOK_S = 0.005
Told = tuple[float, tuple[Stops, ...]]


def plan(problem: Problem, seconds: float, start: tuple[Stops, ...] | None = None) -> State | None:
    """The best exact plan made of the library's last few improvements; None where it found nothing.

    The library takes no seed: its searches differ by the clock alone.
    """
    found = exact_plans(Judge(problem), improvements(problem, seconds, start), KEPT)
    return found[0] if found else None


def improvements(
    problem: Problem, seconds: float, start: tuple[Stops, ...] | None
) -> list[tuple[Stops, ...]]:
    """All improvements within some seconds of processor time from the start of the search."""
    inlet, outlet = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(inlet)
        _work(problem, seconds, start, outlet)
    os.close(outlet)
    told: list[Told] = []
    with os.fdopen(inlet, "rb") as pipe:
        reader = threading.Thread(target=_listen, args=(pipe, told))
        reader.start()
        while reader.is_alive() and _spent_s(child) < seconds:
            time.sleep(LOOK_S)
        if reader.is_alive():
            os.kill(child, signal.SIGKILL)
        reader.join()
    os.waitpid(child, 0)
    return [routes for at, routes in told if at <= seconds]


def _spent_s(process: int) -> float:
    """Processor time of another process."""
    # The kernel's name for it: see clock_getcpuclockid(3).
    return time.clock_gettime((~process << 3) | 2)


def _work(problem: Problem, seconds: float, start: tuple[Stops, ...] | None, outlet: int) -> None:
    """Search, and write each improvement with the processor time it came at; never returns."""
    try:
        with os.fdopen(outlet, "wb") as out:

            def tell(routes: tuple[Stops, ...]) -> None:
                out.write(pickle.dumps((time.process_time(), routes)))
                out.flush()

            library_routes(problem, Limit(seconds * WAIT), start, tell)
    finally:
        # Nothing of the parent's is to be ended twice.
        os._exit(0)


def _listen(pipe: BinaryIO, told: list[Told]) -> None:
    try:
        while True:
            told.append(pickle.load(pipe))
    except (EOFError, pickle.UnpicklingError):
        # The library is done, or was ended in the middle of a word.
        return
