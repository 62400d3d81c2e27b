"""Word what was measured on feeding days as sections of the page, with charts beside it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from math import inf
from pathlib import Path

from benchmarks.common.measure import mean, setting
from benchmarks.common.page import chart
from benchmarks.common.page import table as markdown
from benchmarks.common.plots import bars, steps
from benchmarks.feeding_days import LONG, DayRuns, table

PRICES = """\
A plan's price is what the planner minimises: wages, overtime, fuel by load, wear, and the value of yards left
unfed. A second is one of the contestant's own processor: other work on the machine takes nothing from it.
On two cores: the planner's two workers, or the better of two seeds of an engine that has one thread. Every
contestant's routes are put under the same exact timing before they are priced: what offends is dropped, what
fits is put back. Gaps are per cent above the cheapest plan that anybody found for the day, the long search
included; a proved bound is not meant.
"""


def measured(command: str) -> list[str]:
    """When, with what and on what a section was measured."""
    return [f"`{command}`, {date.today().isoformat()}. {setting()}", ""]


def demo(day: DayRuns, command: str, charts: Path) -> list[str]:
    """The demo day: how near ten seconds come to a long search."""
    lines = [f"## The demo's day, {day.seconds:g} s against {day.long_seconds:g} s", "", PRICES]
    rows = [["contestant", "runs", "mean gap, %", "worst gap, %", "left", "price of each run"]]
    for name in day.contestants:
        runs = day.of(name)
        gaps = day.gaps(name)
        left = "/".join(map(str, sorted({run.unserved for run in runs if run.price < inf})))
        prices = ", ".join(f"{run.price:.2f}" if run.price < inf else "no plan" for run in runs)
        told = [f"{mean(gaps):.2f}", f"{max(gaps):.2f}"] if gaps else ["-", "-"]
        rows.append([name, str(len(runs)), *told, left, prices])
    lines += [*measured(command), *markdown(rows), *_troubles([day])]
    alt = "Price of the best plan over time, one line a seed"
    return lines + chart(charts, "demo.svg", _demo_chart(day), alt)


def _demo_chart(day: DayRuns) -> str:
    cut = day.best * 1.12
    lines = []
    for run in day.runs:
        if run.trace and run.contestant == "planner, 2 cores":
            lines.append((f"seed {run.seed}", [(t, min(p, cut)) for t, p in run.trace]))
    lines.append((f"best found ({day.best:.2f})", [(0.0, day.best)]))
    title = "The demo's day: price of the best plan so far"
    return steps(title, "seconds", "price", lines, day.seconds * 1.02)


def invented(days: Sequence[DayRuns], command: str, charts: Path) -> list[str]:
    """Invented days of many sizes."""
    lines = [
        "## Invented days",
        "",
        "Mean gap in per cent, in brackets the worst run; `n/m`: only n of m runs had a plan.",
        "",
    ]
    names = [n for n in dict.fromkeys(n for day in days for n in day.contestants) if n != LONG]
    most = 40.0
    series = [
        (name, [min(most, mean(day.gaps(name))) if day.gaps(name) else float("nan") for day in days])
        for name in names
    ]
    shown = [day.day.replace(" yards, no. ", "-") for day in days]
    svg = bars("Mean gap to the best plan found (cut at 40 %)", "gap, %", shown, series)
    lines += [*measured(command), *markdown(table(days)), *_troubles(days)]
    return lines + chart(charts, "invented.svg", svg, "Mean gap of each contestant on each invented day")


def _troubles(days: Sequence[DayRuns]) -> list[str]:
    told = [
        f"- {run.day}, {run.contestant}, seed {run.seed}: {trouble}"
        for day in days
        for run in day.runs
        for trouble in run.troubles
    ]
    return told + ([""] if told else [])
