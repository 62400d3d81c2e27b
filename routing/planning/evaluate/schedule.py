"""A route timed to the second: when each stop begins and ends, with waits and breaks."""

from __future__ import annotations

from dataclasses import dataclass, field

from routing.planning.evaluate.loads import FAULTS, Fault, Loads, loads_of
from routing.planning.evaluate.route_rules import rules_of
from routing.planning.problem.problem import Problem, Stops


@dataclass(slots=True)
class Timing:
    """A route timed. Point 0 is the start, the last the end; ``fault`` is the first rule broken.

    ``begin[i]`` is when work at point i begins, ``leave[i]`` when it ends (a break after it comes on top:
    ``pauses[i]`` seconds). ``service_s`` has loading and washing in. After a fault nothing is said.
    """

    fault: Fault | None
    loads: Loads
    begin: list[int] = field(default_factory=list)
    leave: list[int] = field(default_factory=list)
    arrive: list[int] = field(default_factory=list)
    pauses: list[int] = field(default_factory=list)
    drive_s: list[int] = field(default_factory=list)
    distance_m: list[int] = field(default_factory=list)
    climb_m: list[int] = field(default_factory=list)
    service_s: list[int] = field(default_factory=list)

    @property
    def work_s(self) -> int:
        """From the start (of loading, or of what is left of the day) to the return."""
        return self.begin[-1] - self.arrive[0]


def time_route(problem: Problem, truck: int, stops: Stops) -> Timing:
    """Time a route of one truck; stops at the first rule that cannot be kept."""
    rules = rules_of(problem)
    fault = FAULTS[rules.time(truck, stops)]
    if fault is not None:
        return Timing(fault, loads_of(rules, stops, fault))
    points = rules.scratch.points[: len(stops) + 2]
    return Timing(
        None,
        loads_of(rules, stops, None),
        [point.begin for point in points],
        [point.leave for point in points],
        [point.arrive for point in points],
        [point.pause_s for point in points],
        [point.drive_s for point in points],
        [point.metres for point in points],
        [point.climb_m for point in points],
        [point.service_s for point in points],
    )
