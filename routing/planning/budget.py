"""Measure out a worker's time, by the clock or by counting steps."""

from __future__ import annotations

import time
from collections.abc import Callable


class Budget:
    """Measures what share of the work is done, by the clock or by counting steps."""

    def __init__(self, seconds: float | None, iterations: int | None) -> None:
        self.seconds, self.iterations = seconds, iterations
        self.started = time.perf_counter()

    def phase(self, share: float, steps: float = 1.0) -> Callable[[], float]:
        """Progress of a phase that may use a share of the budget: 0 at first, 1 when it is used up."""
        begun, count = time.perf_counter(), 0
        most = max(1, self.steps(share, steps))

        def progress() -> float:
            nonlocal count
            count += 1
            by_count = (count - 1) / most if self.iterations is not None else 0.0
            by_time = 0.0
            if self.seconds is not None:
                by_time = (time.perf_counter() - begun) / max(1e-6, self.seconds * share)
            return max(by_count, by_time)

        return progress

    def steps(self, share: float, steps: float = 1.0) -> int:
        """Steps that a share of the iterations comes to."""
        return int((self.iterations or 0) * share * steps)

    def rest(self, used: float) -> float:
        """The share that is left: by the clock where there is one, else what was not ``used`` as planned."""
        if self.iterations is not None or self.seconds is None:
            return max(0.0, 1.0 - used)
        return max(0.0, 1.0 - (time.perf_counter() - self.started) / self.seconds)
