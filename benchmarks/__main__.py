"""Measure quality: ``python -m benchmarks --quick`` in about five minutes, without it in about a day."""

from __future__ import annotations

import argparse
import os
import sys
import warnings
from collections.abc import Callable
from pathlib import Path

from benchmarks import bounds, compiled, growth, proofs, replan, report, rounds, tiny_days
from benchmarks.common.machine import cores_of, prepare
from benchmarks.common.page import PAGE, write_section
from benchmarks.feeding_days import demo_runs, invented_runs
from benchmarks.sets import __main__ as sets

PARTS = (
    "demo",
    "invented",
    "rounds",
    "growth",
    "compiled",
    "replan",
    "proofs",
    "bounds",
    "tiny_days",
    "sets",
)
QUICK_PARTS = ("demo", "invented", "rounds", "growth", "proofs", "sets")
Sizes = tuple[tuple[int, int], ...]
QUICK_SIZES: Sizes = ((36, 1),)
SIZES: Sizes = ((20, 1), (36, 1), (36, 2), (60, 1), (120, 1), (300, 1))
QUICK_PAGE = PAGE.parents[1] / "maps" / "benchmarks" / "page.md"
QUICK = {
    "rounds": ["--rounds", "24x2", "--seconds", "1", "--seeds", "1"],
    "growth": ["--yards", "10", "30", "100", "300", "--seconds", "3"],
    "compiled": ["--days", "demo", "36-1", "--seconds", "1", "3", "--seeds", "1", "--steps", "2"],
    "replan": ["--yards", "36", "--seeds", "1", "--long-seconds", "10", "--morning", "3"],
    "proofs": ["--yards", "8", "12", "--days", "2", "--seconds", "10"],
    "bounds": ["--sizes", "12", "40", "--seeds", "1", "--folders", "--seconds", "5", "--plan-seconds", "5"],
    "sets": ["--seconds", "1", "--seeds", "1", "--most", "2", "--workers", "1"],
}
"""What the parts with a command of their own are told in five minutes."""
COMMANDS: dict[str, Callable[[list[str]], int]] = {
    "rounds": rounds.main,
    "growth": growth.main,
    "compiled": compiled.main,
    "replan": replan.main,
    "proofs": proofs.main,
    "bounds": bounds.main,
    "tiny_days": tiny_days.main,
    "sets": sets.main,
}
PRINTED = ("tiny_days",)
"""Parts that print what they find and have no section on the page."""


def main(arguments: list[str] | None = None) -> int:
    """Measure the parts asked for and write the page, each part as it is done."""
    given = _parser().parse_args(arguments)
    # The engine warns of its own penalties on tight days; nothing to act on here.
    warnings.simplefilter("ignore")
    words = sys.argv[1:] if arguments is None else arguments
    given.out = given.out or str(QUICK_PAGE if given.quick else PAGE)
    prepare()
    measure = _Measure(given, " ".join(["python -m benchmarks", *words]))
    for part in given.only or (QUICK_PARTS if given.quick else PARTS):
        _say(f"{part} ...")
        measure.do(part)
    print(f"written: {given.out}")
    return 0


class _Measure:
    """The parts, each with what was asked for."""

    def __init__(self, given: argparse.Namespace, command: str) -> None:
        self.given, self.command, self.quick = given, command, bool(given.quick)
        self.page = Path(given.out)
        self.jobs: int = given.jobs or (min(2, os.cpu_count() or 1) if self.quick else 1)
        self.charts, self.cores = self.page.parent / "benchmarks", cores_of(self.jobs)
        self.seconds = given.seconds or (3.0 if self.quick else 10.0)
        self.longest = given.long_seconds or (9.0 if self.quick else 600.0)
        self.parts: dict[str, Callable[[], object]] = {
            "demo": self.demo,
            "invented": self.invented,
        }

    def do(self, part: str) -> None:
        """Measure one part and write its section."""
        if part in self.parts:
            self.parts[part]()
            return
        words = [] if part in PRINTED else ["--out", str(self.page)]
        words += QUICK.get(part, []) if self.quick else []
        words += ["--jobs", str(self.jobs)] if part in ("rounds", "compiled", "sets") else []
        words += self._of_sets() if part == "sets" else []
        if COMMANDS[part](words):
            raise SystemExit(f"the benchmark of {part} failed")

    def demo(self) -> None:
        seeds = self.given.seeds or (1 if self.quick else 5)
        found = demo_runs(self.seconds, seeds, self.longest, self.cores, _say)
        write_section(self.page, "demo", report.demo(found, self.command, self.charts))

    def invented(self) -> None:
        sizes, longest = QUICK_SIZES if self.quick else SIZES, max(3 * self.seconds, self.longest / 10)
        found = invented_runs(sizes, self.seconds, 1 if self.quick else 2, longest, self.cores, _say)
        write_section(self.page, "invented", report.invented(found, self.command, self.charts))

    def _of_sets(self) -> list[str]:
        given = self.given
        words = [] if self.page == PAGE else ["--results", str(self.charts / "sets.jsonl")]
        words += ["--data", given.data] if given.data else []
        return words + (["--pyvrp", *given.pyvrp] if given.pyvrp else [])


def _say(line: str) -> None:
    print(line, file=sys.stderr, flush=True)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="python -m benchmarks", description=__doc__)
    parser.add_argument("--quick", action="store_true", help="about five minutes instead of about a day")
    parser.add_argument("--only", nargs="+", choices=PARTS, help="these parts alone")
    parser.add_argument("--seconds", type=float, help="time of each run on a feeding day (10; quick: 3)")
    parser.add_argument("--long-seconds", type=float, help="time of the long search (600; quick: 9)")
    parser.add_argument("--seeds", type=int, help="seeds on the demo's day (5; quick: 1)")
    parser.add_argument("--data", help="folder of published instances (else FEEDROUND_BENCHMARKS)")
    parser.add_argument("--jobs", type=int, help="runs at a time, each on a core of its own (1; quick: 2)")
    parser.add_argument("--pyvrp", nargs="*", default=[], help="interpreters with other versions of PyVRP")
    parser.add_argument(
        "--out",
        help="page to write in, charts beside it (docs; quick: maps, to replace nothing)",
    )
    return parser


if __name__ == "__main__":
    sys.exit(main())
