"""Write what was measured as a page of tables with charts beside it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path

from benchmarks.feeding_days import LONG, DayRuns, table
from benchmarks.measure import gap, mean, setting
from benchmarks.plots import bars, steps
from benchmarks.published_sets import HEAD as GAP_HEAD
from benchmarks.published_sets import Gap
from benchmarks.refining import HEAD as REFINE_HEAD
from benchmarks.refining import Refined

PAGE = Path(__file__).parents[1] / "docs" / "benchmarks.md"
CHARTS = "benchmarks"


class Report:
    """The page, section by section; charts are written beside it."""

    def __init__(self, page: Path, words: Sequence[str]) -> None:
        self.page = page
        how = " ".join(["python -m benchmarks", *words])
        self.lines = [
            "# Benchmarks",
            "",
            f"Written by `{how}` on {date.today().isoformat()}. {setting()}",
            "",
            "A plan's price is what the planner minimises: wages, overtime, fuel by load, wear, and the",
            "value of yards left unfed. Every contestant's routes are put under the same exact timing",
            "before they are priced: what offends is dropped, what fits is put back. Gaps are per cent",
            "above the cheapest plan that anybody found for the day, the long search included; a proved",
            "bound is not meant. Nothing here is asserted by a test.",
            "",
        ]

    def _chart(self, name: str, svg: str, alt: str) -> None:
        folder = self.page.parent / CHARTS
        folder.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(svg, encoding="utf-8")
        self.lines += [f"![{alt}]({CHARTS}/{name})", ""]

    def _table(self, rows: Sequence[Sequence[str]]) -> None:
        head, *body = rows
        self.lines += ["| " + " | ".join(head) + " |", "|" + "---|" * len(head)]
        self.lines += ["| " + " | ".join(row) + " |" for row in body] + [""]

    def demo(self, day: DayRuns) -> None:
        """The demo day: how near ten seconds come to a long search."""
        self.lines += [f"## The demo's day, {day.seconds:g} s against {day.long_seconds:g} s", ""]
        rows = [["contestant", "runs", "mean gap, %", "worst gap, %", "left", "price of each run"]]
        for name in day.contestants:
            runs = [run for run in day.runs if run.contestant == name]
            gaps = day.gaps(name)
            left = sorted({run.unserved for run in runs})
            prices = ", ".join(f"{run.price:.2f}" for run in runs)
            rows.append(
                [
                    name,
                    str(len(runs)),
                    f"{mean(gaps):.2f}",
                    f"{max(gaps):.2f}",
                    "/".join(map(str, left)),
                    prices,
                ]
            )
        self._table(rows)
        self._troubles([day])
        self._demo_chart(day)

    def _demo_chart(self, day: DayRuns) -> None:
        cut = day.best * 1.12
        lines = []
        for run in day.runs:
            if run.trace and run.contestant == "planner, 2 cores":
                lines.append((f"seed {run.seed}", [(t, min(p, cut)) for t, p in run.trace]))
        lines.append((f"best found ({day.best:.2f})", [(0.0, day.best)]))
        svg = steps(
            "The demo's day: price of the best plan so far", "seconds", "price", lines, day.seconds * 1.02
        )
        self._chart("demo.svg", svg, "Price of the best plan over time, one line a seed")

    def invented(self, days: Sequence[DayRuns]) -> None:
        """Invented days of many sizes."""
        self.lines += ["## Invented days", "", "Mean gap in per cent, in brackets the worst run.", ""]
        self._table(table(days))
        names = [n for n in dict.fromkeys(n for day in days for n in day.contestants) if n != LONG]
        most = 40.0
        series = [
            (name, [min(most, mean(day.gaps(name))) if day.gaps(name) else float("nan") for day in days])
            for name in names
        ]
        svg = bars(
            "Mean gap to the best plan found (cut at 40 %)",
            "gap, %",
            [day.day.replace(" yards, no. ", "-") for day in days],
            series,
        )
        self._troubles(days)
        self._chart("invented.svg", svg, "Mean gap of each contestant on each invented day")

    def _troubles(self, days: Sequence[DayRuns]) -> None:
        told = [
            f"- {run.day}, {run.contestant}, seed {run.seed}: {trouble}"
            for day in days
            for run in day.runs
            for trouble in run.troubles
        ]
        self.lines += told + ([""] if told else [])

    def refining(self, rows: Sequence[Refined]) -> None:
        """Who carries the engine's plan on better."""
        self.lines += [
            "## Carrying the engine's plan on",
            "",
            "PyVRP's plan is the start of our exact search and of OR-Tools' routing library, each with the",
            "same time. Change of price in per cent.",
            "",
        ]
        self._table([REFINE_HEAD, *(row.cells for row in rows)])
        search = mean([gap(row.search, row.start) for row in rows])
        library = mean([gap(row.library, row.start) for row in rows])
        self.lines += [f"Mean: exact search {search:+.2f} %, OR-Tools routing {library:+.2f} %.", ""]

    def published(self, rows: Sequence[Gap], notes: Sequence[str]) -> None:
        """Gaps on published instances."""
        self.lines += [
            "## Published instances",
            "",
            "The planner with one worker, its whole way (engine, then exact search), on the instance stated",
            "as a day of rounds. Costs are judged by a checker that knows only the instance.",
            "",
        ]
        self._table([GAP_HEAD, *(row.cells for row in rows)])
        self.lines += [f"- {note}" for note in notes] + ([""] if notes else [])

    def write(self) -> None:
        """Put the page down."""
        self.page.parent.mkdir(parents=True, exist_ok=True)
        self.page.write_text("\n".join(self.lines).rstrip() + "\n", encoding="utf-8")
