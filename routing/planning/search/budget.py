"""Measure out a worker's time, by the clock or by counting steps."""

from __future__ import annotations

import time


class Budget:
    """Measures what share of the work is done, by the clock or by counting steps."""

    def __init__(self, seconds: float | None, iterations: int | None) -> None:
        self.seconds, self.iterations = seconds, iterations
        self.started = time.perf_counter()

    def phase(self, share: float, steps: float = 1.0) -> Phase:
        """A phase that may use a share of the budget, with ``steps`` to an iteration."""
        seconds = None if self.seconds is None else max(1e-6, self.seconds * share)
        most = None if self.iterations is None else max(1, self.steps(share, steps))
        return Phase(seconds, most)

    def steps(self, share: float, steps: float = 1.0) -> int:
        """Steps that a share of the iterations comes to."""
        return int((self.iterations or 0) * share * steps)

    def rest(self, used: float) -> float:
        """The share that is left: by the clock where there is one, else what was not ``used`` as planned."""
        if self.iterations is not None or self.seconds is None:
            return max(0.0, 1.0 - used)
        return max(0.0, 1.0 - (time.perf_counter() - self.started) / self.seconds)


class Phase:
    """The progress of one phase: 0 at first, 1 when its seconds or its steps are used up."""

    def __init__(self, seconds: float | None, most: int | None) -> None:
        self.seconds, self.most = seconds, most
        self.begun, self.taken = time.perf_counter(), 0

    def __call__(self) -> float:
        """The progress before a step, which is counted as taken."""
        done = self.done()
        self.taken += 1
        return done

    def done(self) -> float:
        """The share of the phase that is behind."""
        by_count = self.taken / self.most if self.most is not None else 0.0
        by_time = 0.0 if self.seconds is None else self.elapsed_s / self.seconds
        return max(by_count, by_time)

    def slower(self, times: float) -> Phase:
        """The rest of the phase for who takes so many times as long for a step."""
        if self.most is not None:
            self.most, self.taken = max(1, int(self.most / times)), int(self.taken / times)
        return self

    @property
    def elapsed_s(self) -> float:
        """Seconds since the phase began."""
        return time.perf_counter() - self.begun

    def stretch(self, fewest: int, seconds: float, most: int) -> int:
        """Steps to take before the next look: ``fewest`` by count, by the clock as many as last so long."""
        if self.most is not None:
            return max(1, min(fewest, self.most - self.taken))
        if not self.taken:
            return fewest
        return max(1, min(most, int(seconds * self.taken / max(1e-9, self.elapsed_s))))

    def a_step(self) -> float:
        """The share of the phase that a step has come to so far; none before the first."""
        if self.most is not None:
            return 1.0 / self.most
        return self.done() / self.taken if self.taken else 0.0
