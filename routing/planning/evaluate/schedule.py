"""Time a given sequence of stops exactly: loads, waits, breaks, the latest start that loses nothing.

The first departure is as early as the shift allows; then the start is put off as far as the same finish
allows, since hours are paid from the start. This gives the shortest day where every place has one window
(M.W.P. Savelsbergh, "The vehicle routing problem with time windows: minimizing route duration", ORSA J.
Computing 4(2), 1992); with several windows a shorter day can exist.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise
from math import ceil

from routing.planning.evaluate.loads import Fault, Loading, Loads, plan_loads
from routing.planning.problem.problem import Problem, Stops, TruckSpec, Windows, meet, shrink

NEVER = 10**12
NOTHING_LOADED = Loads(None, {}, set(), [], [], [])


@dataclass(slots=True)
class Timing:
    """A route timed. Point 0 is the start, the last the end; ``fault`` is the first rule broken.

    ``begin[i]`` is when work at point i begins, ``leave[i]`` when it ends (a break after it comes on top:
    ``pauses[i]`` seconds). ``service_s`` has loading and washing in.
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
    """Time a route of one truck; stops at the first rule that cannot be kept.

    Hours are looked at first, at the least they can be: in a search most routes fail there.
    """
    spec = problem.trucks[truck]
    visited = [problem.depots[spec.start].place]
    visited += [problem.visits[s].place if s >= 0 else problem.depots[-1 - s].place for s in stops]
    visited.append(problem.depots[spec.end].place)
    drive, metres = problem.drive_rows[spec.matrix], problem.distance_rows[spec.matrix]
    drive_s = [0, *(drive[a][b] for a, b in pairwise(visited))]
    services = problem.service_s[truck]
    driven = sum(drive_s)
    if driven + sum(services[v] for v in stops if v >= 0) > min(spec.max_s, spec.latest_s - spec.earliest_s):
        return Timing(Fault.SHIFT, NOTHING_LOADED)
    loads = plan_loads(problem, truck, stops)
    timing = Timing(loads.fault, loads)
    if timing.fault:
        return timing
    timing.drive_s = drive_s
    timing.distance_m = [0, *(metres[a][b] for a, b in pairwise(visited))]
    if spec.climb is not None:
        timing.climb_m = spec.climb.along(spec.matrix, visited)
    if driven > spec.driving_s:
        timing.fault = Fault.DRIVING
        return timing
    _Clock(problem, truck, stops, timing).run()
    return timing


def loading_s(problem: Problem, depot: int, loading: Loading) -> int:
    """Whole seconds to take a load aboard; none when nothing is taken."""
    if loading.nothing:
        return 0
    spec = problem.depots[depot]
    seconds = spec.setup_s + sum(loading.pails) * problem.pail_load_s
    for supply, bulk, pail in zip(spec.supplies, loading.bulk_ml, loading.pail_ml, strict=True):
        if supply is not None:
            seconds += (bulk + pail) / supply.rate_ml_s
    return ceil(seconds - 1e-9)


class _Clock:
    """Runs one route through the day."""

    def __init__(self, problem: Problem, truck: int, stops: Stops, timing: Timing) -> None:
        self.problem, self.truck, self.timing = problem, truck, timing
        self.spec = problem.trucks[truck]
        self.stops = stops
        self.windows: list[Windows] = []
        release = self._releases()
        openings, services = problem.openings[truck], problem.service_s[truck]
        for i in range(len(stops) + 1):
            if i and stops[i - 1] >= 0:
                visit = stops[i - 1]
                windows, service = openings[visit], services[visit]
            else:
                windows, service = self._depot(i, release[i])
            timing.service_s.append(service)
            self.windows.append(windows)
        timing.service_s.append(0)
        self.windows.append(problem.depots[self.spec.end].windows)
        timing.pauses = [0] * len(self.windows)

    def _releases(self) -> list[int]:
        """For each depot call, the time before which its trip may not leave."""
        release = [-NEVER] * (len(self.stops) + 1)
        at = 0
        for i, stop in enumerate(self.stops, start=1):
            if stop < 0:
                at = i
            else:
                release[at] = max(release[at], self.problem.visits[stop].release_s)
        return release

    def _depot(self, i: int, release: int) -> tuple[Windows, int]:
        index = self.spec.start if i == 0 else -1 - self.stops[i - 1]
        depot, loading = self.problem.depots[index], self.timing.loads.loading[i]
        service = loading_s(self.problem, index, loading)
        earliest = release - service
        for supply, bulk, pail in zip(depot.supplies, loading.bulk_ml, loading.pail_ml, strict=True):
            if supply is not None and bulk + pail:
                earliest = max(earliest, supply.from_s)
        washes = i in self.timing.loads.washes
        if i == 0 and loading.nothing and not washes:
            # A truck that stands laden overnight leaves when its crew does, open or not.
            return ((earliest, NEVER),), service
        service += self.problem.wash_s if washes else 0
        opened = shrink(depot.windows, service if depot.leave_by else 0)
        return meet(opened, ((earliest, NEVER),)), service

    def run(self) -> None:
        """Time the route, with breaks where they are due."""
        spec, timing = self.spec, self.timing
        if self._no_time_for_breaks():
            timing.fault = Fault.SHIFT
            return
        if not self._forward(spec.earliest_s):
            timing.fault = Fault.WINDOW
            return
        self._start_late()
        if not self._too_long() and spec.break_s and not self._rested():
            timing.fault = self._with_breaks()
        elif self._too_long():
            timing.fault = Fault.SHIFT

    def _with_breaks(self) -> Fault | None:
        """Place the breaks, from an earlier start where the latest leaves no time for them."""
        spec, timing = self.spec, self.timing
        late, fault = timing.arrive[0], Fault.BREAK
        for start in dict.fromkeys((late, max(spec.earliest_s, late - spec.break_s), spec.earliest_s)):
            timing.pauses = [0] * len(self.windows)
            if not (self._forward(start) and self._place_breaks()):
                continue
            start = timing.arrive[0]
            self._start_late()
            if not self._rested():
                # A wait that was a pause from driving is gone: better to wait than to be tired.
                self._forward(start)
            if not self._too_long():
                return None
            fault = Fault.SHIFT
        return fault

    def _no_time_for_breaks(self) -> bool:
        """Whether the breaks that so much driving and standing calls for are more than the hours hold."""
        spec, timing = self.spec, self.timing
        if not spec.break_s or spec.break_on_driving:
            return False
        busy = sum(timing.drive_s) + sum(timing.service_s)
        breaks = max(0, -(-(busy + spec.tired_s) // spec.break_after_s) - 1)
        return busy + breaks * spec.break_s > spec.max_s

    def _too_long(self) -> bool:
        return self.timing.begin[-1] > self.spec.latest_s or self.timing.work_s > self.spec.max_s

    def _forward(self, earliest: int) -> bool:
        """Go through the day from an earliest start. False when a place is reached too late."""
        timing = self.timing
        begin, leave, arrive = [], [], []
        ready = earliest
        for i, windows in enumerate(self.windows):
            at = ready + timing.drive_s[i]
            start = _first(windows, at)
            if start is None:
                return False
            arrive.append(at if i or self.spec.on_the_clock else start)
            begin.append(start)
            leave.append(start + timing.service_s[i])
            ready = leave[-1] + timing.pauses[i]
        timing.begin, timing.leave, timing.arrive = begin, leave, arrive
        return True

    def _start_late(self) -> None:
        """Put the start off as far as the same finish allows; where nothing waits, that is not at all."""
        waits = any(b > a for a, b in zip(self.timing.arrive, self.timing.begin, strict=True))
        if waits and not self.spec.on_the_clock:
            self._forward(self._latest_start())

    def _latest_start(self) -> int:
        timing = self.timing
        latest = timing.begin[-1]
        for i in range(len(self.windows) - 2, -1, -1):
            latest -= timing.drive_s[i + 1] + timing.pauses[i] + timing.service_s[i]
            latest = max(min(b, latest) for a, b in self.windows[i] if a <= latest)
        return latest

    def _rested(self) -> bool:
        """Whether the break rule holds for the times and pauses as they stand."""
        if self.timing.work_s + self.spec.tired_s <= self.spec.break_after_s:
            return True
        return _first_tired(self.timing, self.spec) is None

    def _place_breaks(self) -> bool:
        """Add breaks, each as late as the rule allows unless a wait makes one free; else try every place."""
        timing, spec = self.timing, self.spec
        begin = timing.arrive[0]
        for _ in range(len(self.windows)):
            tired = _first_tired(timing, spec)
            if tired is None:
                return True
            if tired == 0:
                return False
            at = self._free_break(tired)
            if timing.pauses[at]:
                return False
            timing.pauses[at] = spec.break_s
            if not self._forward(begin):
                timing.pauses[at] = 0
                return self._single_break(begin, tired)
        return False

    def _free_break(self, tired: int) -> int:
        """The last point before ``tired`` whose next wait swallows a break; else the last of all."""
        timing = self.timing
        rested = max((i for i in range(tired) if timing.pauses[i]), default=-1)
        for i in range(tired - 1, rested, -1):
            wait = timing.begin[i + 1] - timing.arrive[i + 1]
            if wait >= self.spec.break_s:
                return i
        return tired - 1

    def _single_break(self, begin: int, tired: int) -> bool:
        """Try one break after each earlier point since the last break."""
        timing, spec = self.timing, self.spec
        rested = max((i for i in range(tired) if timing.pauses[i]), default=-1)
        for at in range(tired - 2, rested, -1):
            timing.pauses[at] = spec.break_s
            if self._forward(begin) and self._rested():
                return True
            timing.pauses[at] = 0
        return False


def _first(windows: Windows, at: int) -> int | None:
    """The first time from ``at`` on that lies in a window."""
    for a, b in windows:
        if at <= b:
            return max(at, a)
    return None


def _first_tired(timing: Timing, spec: TruckSpec) -> int | None:
    """The first point reached (or worked at) past the limit without a break, or None."""
    limit = spec.break_after_s
    if spec.break_on_driving:
        driven = spec.tired_s
        for i, drive in enumerate(timing.drive_s):
            if i and timing.leave[i - 1] + timing.pauses[i - 1] - timing.arrive[i - 1] >= spec.break_s:
                driven = 0
            driven += drive
            if driven > limit:
                return i
        return None
    since = timing.arrive[0] - spec.tired_s
    last = len(timing.begin) - 1
    for i in range(len(timing.begin)):
        if timing.leave[i] - since > limit:
            return i
        if timing.pauses[i] and i < last:
            since = timing.leave[i] + timing.pauses[i]
    return None
