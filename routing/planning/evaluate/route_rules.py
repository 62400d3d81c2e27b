"""The rules of one problem at hand for Python: its tables, and room to judge a route."""

from __future__ import annotations

from functools import lru_cache

from routing.planning.evaluate.rules.judge import Judgement, judge, time
from routing.planning.evaluate.rules.loads import lay_out
from routing.planning.evaluate.rules.scratch import Scratch, scratch_for
from routing.planning.evaluate.rules.tables import Tables, tables_of
from routing.planning.machine_code.lists import as_lists
from routing.planning.problem.problem import Problem, Stops

STOPS = 60
LAZY = frozenset({"legs"})


class RouteRules:
    """Judges routes of one problem and leaves in ``scratch`` what it found, until the next one."""

    def __init__(self, problem: Problem) -> None:
        self._arrays = tables_of(problem)
        self.tables: Tables = as_lists(self._arrays, LAZY)
        self._room = 0
        self._make_room(STOPS)

    def _make_room(self, stops: int) -> None:
        if stops > self._room:
            self._room = 2 * stops
            self.scratch: Scratch = as_lists(scratch_for(self._arrays, self._room))

    def judge(self, truck: int, stops: Stops) -> Judgement:
        """Cost, fault, seconds of work and busy seconds."""
        self._make_room(len(stops))
        return judge(self.tables, self.scratch, truck, stops, len(stops))  # type: ignore[arg-type]

    def time(self, truck: int, stops: Stops) -> int:
        """Time a route, without a price; the fault."""
        self._make_room(len(stops))
        return time(self.tables, self.scratch, truck, stops, len(stops))  # type: ignore[arg-type]

    def lay_out(self, truck: int, stops: Stops) -> int:
        """Lay out the loads of a route, without the clock; the fault."""
        self._make_room(len(stops))
        return lay_out(self.tables, self.scratch, truck, stops, len(stops))  # type: ignore[arg-type]


@lru_cache(maxsize=4)
def rules_of(problem: Problem) -> RouteRules:
    """The rules of a problem. Whoever asks reads the scratch before anybody else judges."""
    return RouteRules(problem)
