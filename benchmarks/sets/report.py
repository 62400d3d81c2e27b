"""Tell the gaps of the published sets: by set and time, by instance, and over time as a chart."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from benchmarks.common.machine import SHARED_BELOW
from benchmarks.common.measure import mean
from benchmarks.common.page import chart, table
from benchmarks.common.plots import curves
from benchmarks.published.catalog import KINDS
from benchmarks.sets.results import Result
from benchmarks.sets.two_cores import TWO, on_two_cores

PLANNER = "planner"
LEAST_GAP = 0.01
SHOWN = 0.8
LATE = 1.15
"""A run that took more than this times what it was asked is told of."""
INTRODUCTION = """\
## Published sets

Every contestant has the same instance and the same processor time on one core: a second is one of its own
processor, so that other work on the machine takes nothing from anybody. The planner states the instance as a
day of rounds and goes its whole way with one worker (engine, then exact search). PyVRP is used directly: its
own reader (its own model where it has none for the file), its defaults. OR-Tools' routing library is stated
on the planner's problem; it takes no seed and runs once. A checker that knows only the instance judges all
routes. Time starts when the search does: start-up and reading are left out for all.

Gap in per cent above the best known, mean (worst); `n/m` marks that only n of m runs had a plan that keeps
every rule, and the gap is theirs alone; `[n]` that it has been run on n of the instances only.
"""
TWO_CORES = """\
### On two cores

The planner's two workers against the better of two seeds (1 and 2, 3 and 4) of an engine of one thread, each
with a core of its own.
"""
ENGINE = "PyVRP"
"""Whose gap the planner's is held against: the better version's."""
LEVEL = 0.005
"""Gaps that are told alike, in per cent."""


def section(results: Sequence[Result], charts: Path) -> list[str]:
    """The section's lines; charts are written into their folder."""
    lines, double = [INTRODUCTION, _what_was_run(results), ""], on_two_cores(results)
    results = [r for r in results if not r.contestant.endswith(TWO)]
    names = _names(results)
    for seconds in sorted({r.seconds for r in results}):
        lines += _at(f"### At {seconds:g} s", [r for r in results if r.seconds == seconds], names)
    if any(r.contestant == PLANNER for r in double):
        lines.append(TWO_CORES)
        for seconds in sorted({r.seconds for r in double}):
            rows = [r for r in double if r.seconds == seconds]
            lines += _at(f"{seconds:g} s on each core:", rows, _names(rows))
    longest = max(
        {r.seconds for r in results}, key=lambda s: (len({r.instance for r in results if r.seconds == s}), s)
    )
    rows = [r for r in results if r.seconds == longest]
    instances = [r.instance for kind in KINDS for r in rows if r.kind == kind]
    lines += [f"### By instance, at {longest:g} s", ""]
    lines += table(_by(rows, names, list(dict.fromkeys(instances)), lambda r: r.instance))
    if len({r.seconds for r in results}) > 1:
        lines += chart(charts, "sets.svg", _plot(results, names), "Mean gap of each contestant over time")
    return lines + _troubles(results)


def _at(head: str, rows: Sequence[Result], names: Sequence[str]) -> list[str]:
    """A table of the sets at one time, and where the planner stands."""
    return [head, "", *table(_by(rows, names, _sets(rows), lambda r: r.kind)), *standing(rows)]


def standing(rows: Sequence[Result]) -> list[str]:
    """On which sets the planner is at or under the better direct engine, and on which above it by how much.

    On instances that both ran and solved: a set where one has no plan would be compared unlike.
    """
    good, above = [], []
    for kind in _sets(rows):
        mine = [r for r in rows if r.kind == kind]
        engines = sorted({r.contestant for r in mine if r.contestant.startswith(ENGINE)})
        behind = [d for name in engines if (d := _behind(mine, name)) is not None]
        if behind and max(behind) <= LEVEL:
            good.append(kind)
        elif behind:
            above.append(f"{kind} by {max(behind):.2f}")
    if not good and not above:
        return []
    words = f"The planner is at or under the better engine on {len(good)} of {len(good) + len(above)} sets"
    return [words + (f"; above it on {', '.join(above)}." if above else "."), ""]


def _behind(rows: Sequence[Result], engine: str) -> float | None:
    """By how many per cent the planner is above an engine, on the instances that both solved."""
    seconds = {r.seconds for r in rows}
    pairs = [
        (mine, theirs)
        for instance in sorted({r.instance for r in rows})
        for s in seconds
        if (mine := _of(rows, instance, PLANNER, s)) and (theirs := _of(rows, instance, engine, s))
    ]
    return mean([mean(a) - mean(b) for a, b in pairs]) if pairs else None


def _names(results: Sequence[Result]) -> list[str]:
    """The planner first, then the others by name."""
    return sorted({r.contestant for r in results}, key=lambda name: (name != PLANNER, name))


def _sets(rows: Sequence[Result]) -> list[str]:
    return [kind for kind in KINDS if any(r.kind == kind for r in rows)]


def _what_was_run(results: Sequence[Result]) -> str:
    parts = []
    for seconds in sorted({r.seconds for r in results}):
        rows = [r for r in results if r.seconds == seconds]
        seeds = max(r.seed for r in rows)
        instances = len({r.instance for r in rows})
        parts.append(
            f"{seconds:g} s: {instances} instances of {len(_sets(rows))} sets, "
            f"seed{'s 1 to ' + str(seeds) if seeds > 1 else ' 1'}, {len(rows)} runs"
        )
    dates = sorted({r.date for r in results})
    shared = [r for r in results if not r.clock and r.seconds > 1 and r.cpu < SHARED_BELOW * r.took]
    when = dates[0] if len(dates) == 1 else f"{dates[0]} to {dates[-1]}"
    machines = "; ".join(sorted({r.machine for r in results}))
    busy = (
        f" {len(shared)} runs of the past were timed by the clock on a busy machine and had less than "
        f"{SHARED_BELOW:.0%} of a core." if shared else ""
    )  # fmt: skip
    return f"What was run: {'; '.join(parts)}. {when}, {machines}.{busy}"


def _by(rows: Sequence[Result], names: Sequence[str], groups: Sequence[str], of: object) -> list[list[str]]:
    """A table of groups against contestants, and the mean over groups."""
    pick = of if callable(of) else str
    found = [["", "instances" if len({r.instance for r in rows}) > len(groups) else "clients", *names]]
    means: dict[str, list[float]] = {name: [] for name in names}
    for group in groups:
        mine = [r for r in rows if pick(r) == group]
        count = len({r.instance for r in mine})
        cells = [group, str(count if found[0][1] == "instances" else mine[0].clients)]
        for name in names:
            his = [r for r in mine if r.contestant == name]
            cell, average = _cell(his)
            ran = len({r.instance for r in his})
            cells.append(f"{cell} [{ran}]" if 0 < ran < count else cell)
            if average is not None:
                means[name].append(average)
        found.append(cells)
    last = [f"{mean(v):.2f}{'' if len(v) == len(groups) else f' ({len(v)} of them)'}" if v else "-"
            for v in means.values()]  # fmt: skip
    return [*found, ["mean of the rows", "", *last]]


def _cell(rows: Sequence[Result]) -> tuple[str, float | None]:
    gaps = [r.gap for r in rows if r.gap is not None]
    if not rows:
        return "-", None
    if not gaps:
        return f"0/{len(rows)}", None
    missing = f" {len(gaps)}/{len(rows)}" if len(gaps) < len(rows) else ""
    worst = f" ({_plain(max(gaps))})" if len(gaps) > 1 else ""
    return f"{_plain(mean(gaps))}{worst}{missing}", mean(gaps)


def _plain(value: float) -> str:
    """Two decimals, nought without a sign."""
    return f"{value:.2f}".replace("-0.00", "0.00")


def _plot(results: Sequence[Result], names: Sequence[str]) -> str:
    """Mean over the instances that every contestant solved at every time, so that lines compare alike.

    The times are those of the first contestant. One that was not run at all of them, or solved less than
    ``SHOWN`` of the instances at some time, would leave too few: it is not drawn.
    """
    times = sorted({r.seconds for r in results if r.contestant in names[:1]})
    names = [n for n in names if {r.seconds for r in results if r.contestant == n} >= set(times)]
    instances = [i for i in sorted({r.instance for r in results}) if _ran(results, i, names, times)]
    able = {(name, s): {i for i in instances if _of(results, i, name, s)} for name in names for s in times}
    drawn = [n for n in names if all(len(able[n, s]) >= SHOWN * len(instances) for s in times)]
    solved = [i for i in instances if all(i in able[name, s] for name in drawn for s in times)]
    series = []
    for name in drawn:
        points = []
        for s in times:
            gaps = [mean(_of(results, instance, name, s)) for instance in solved]
            if gaps:
                points.append((s, max(LEAST_GAP, mean(gaps))))
        series.append((name, points))
    title = f"Mean gap to the best known, {len(solved)} instances that all of these solved"
    return curves(title, "seconds", "gap, %", series)


def _ran(results: Sequence[Result], instance: str, names: Sequence[str], times: Sequence[float]) -> bool:
    """Whether every contestant ran on an instance at every time."""
    ran = {(r.contestant, r.seconds) for r in results if r.instance == instance}
    return all((name, s) in ran for name in names for s in times)


def _of(results: Sequence[Result], instance: str, name: str, seconds: float) -> list[float]:
    picked = (r for r in results if (r.instance, r.contestant, r.seconds) == (instance, name, seconds))
    return [r.gap for r in picked if r.gap is not None]


def _troubles(results: Sequence[Result]) -> list[str]:
    told = dict.fromkeys(
        f"- {r.instance}, {r.contestant}, {r.seconds:g} s, seed {r.seed}: {r.trouble}"
        for r in results
        if r.trouble and "found nothing" not in r.trouble
    )
    late: dict[tuple[str, str, float], float] = {}
    for r in results:
        if r.feasible and r.took > LATE * r.seconds + 0.5:
            key = (r.instance, r.contestant, r.seconds)
            late[key] = max(r.took, late.get(key, 0.0))
    told |= {
        f"- {instance}, {name}, asked for {seconds:g} s, took up to {took:.1f} s": None
        for (instance, name, seconds), took in late.items()
    }
    return [*told, ""] if told else []
