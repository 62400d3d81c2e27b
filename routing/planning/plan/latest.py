"""Say how late each stop of a timed route may be reached with all that follows still lawful."""

from __future__ import annotations

from routing.planning.evaluate.schedule import Timing
from routing.planning.problem.problem import Problem, Stops, TruckSpec, Windows, shrink


def latest_arrivals(problem: Problem, truck: int, stops: Stops, timing: Timing) -> list[int]:
    """The latest lawful arrival at each point of a route, in elapsed seconds after local midnight.

    Until then all goes as planned; from then on nothing is skipped, waits are used up, and breaks stay where
    they stand. A pass backward over the times that ``time_route`` found (M.W.P. Savelsbergh, ORSA J.
    Computing 4(2), 1992: forward slack), which gives no arrival before the planned one.

    Parameters
    ----------
    problem, truck, stops
        The route that was timed.
    timing
        Its times, without a fault.

    Returns
    -------
    list of int
        One a point: 0 is the start, the last the end.
    """
    spec = problem.trucks[truck]
    windows = _windows(problem, truck, stops, timing)
    home = min(spec.latest_s, timing.arrive[0] + spec.max_s)
    # What follows a break keeps its clock however late: a delay moves the break as much as what comes after.
    free = _backward(timing, spec, windows, {len(windows) - 1: home})
    if not spec.break_s or spec.break_on_driving:
        return free
    found: list[int] = []
    since, first = timing.arrive[0] - spec.tired_s, 0
    for i in range(len(windows)):
        last = i == len(windows) - 1
        if not timing.pauses[i] and not last:
            continue
        by = {
            k: since + spec.break_after_s - (timing.leave[k] - timing.begin[k]) for k in range(first, i + 1)
        }
        beyond = {i: home} if last else {i + 1: free[i + 1]}
        tight = _backward(timing, spec, windows[: i + 1 + (not last)], {**by, **beyond, **_least(by, beyond)})
        found += tight[first : i + 1]
        since, first = timing.leave[i] + timing.pauses[i], i + 1
    return found


def _least(a: dict[int, int], b: dict[int, int]) -> dict[int, int]:
    """The tighter of two bounds where both hold."""
    return {k: min(a[k], b[k]) for k in a.keys() & b.keys()}


def _backward(timing: Timing, spec: TruckSpec, windows: list[Windows], by: dict[int, int]) -> list[int]:
    """Latest arrivals at the points of ``windows``, where work begins no later than ``by`` says."""
    latest = [0] * len(windows)
    for i in range(len(windows) - 1, -1, -1):
        stay = timing.leave[i] - timing.begin[i]
        begin = by.get(i, 10**12)
        if i + 1 < len(windows):
            begin = min(begin, latest[i + 1] - timing.drive_s[i + 1] - timing.pauses[i] - stay)
        at = max((min(b, begin) for a, b in windows[i] if a <= begin), default=timing.arrive[i])
        rest_s = timing.leave[i] + timing.pauses[i] - timing.arrive[i]
        if spec.break_on_driving and stay + timing.pauses[i] < spec.break_s <= rest_s:
            # The wait here is a pause from driving: it must stay long enough.
            at = min(at, timing.leave[i] + timing.pauses[i] - spec.break_s)
        latest[i] = max(at, timing.arrive[i])
    return latest


def _windows(problem: Problem, truck: int, stops: Stops, timing: Timing) -> list[Windows]:
    """When work may begin at each point; at the start it begins as planned."""
    found: list[Windows] = [((timing.begin[0], timing.begin[0]),)]
    for i, stop in enumerate(stops, start=1):
        if stop >= 0:
            found.append(problem.openings[truck][stop])
            continue
        depot = problem.depots[-1 - stop]
        found.append(shrink(depot.windows, timing.leave[i] - timing.begin[i] if depot.leave_by else 0))
    return [*found, problem.depots[problem.trucks[truck].end].windows]
