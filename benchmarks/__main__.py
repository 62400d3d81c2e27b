"""Measure quality: ``python -m benchmarks --quick`` in a few minutes, without it in about an hour."""

from __future__ import annotations

import argparse
import sys
import warnings
from pathlib import Path

from benchmarks.feeding_days import demo_runs, invented_runs
from benchmarks.published_sets import gaps
from benchmarks.refining import refine
from benchmarks.report import PAGE, Report

PARTS = ("demo", "invented", "refining", "published")
Sizes = tuple[tuple[int, int], ...]
QUICK_SIZES: Sizes = ((12, 1), (36, 1), (60, 1))
SIZES: Sizes = ((20, 1), (36, 1), (36, 2), (60, 1), (120, 1), (300, 1))


def main(arguments: list[str] | None = None) -> int:
    """Measure the parts asked for and write the page."""
    given = _parser().parse_args(arguments)
    # The engine warns of its own penalties on tight days; nothing to act on here.
    warnings.simplefilter("ignore")
    seconds = given.seconds or (5.0 if given.quick else 10.0)
    longest = given.long_seconds or (30.0 if given.quick else 600.0)
    seeds = given.seeds or (2 if given.quick else 5)
    words = sys.argv[1:] if arguments is None else arguments
    report = Report(Path(given.out), words)
    parts = given.only or PARTS
    if "demo" in parts:
        report.demo(demo_runs(seconds, seeds, longest, _say))
        report.write()
    if "invented" in parts:
        sizes = QUICK_SIZES if given.quick else SIZES
        report.invented(
            invented_runs(sizes, seconds, 1 if given.quick else 2, max(3 * seconds, longest / 10), _say)
        )
        report.write()
    if "refining" in parts:
        _say("carrying the engine's plan on")
        few = QUICK_SIZES[1:2] if given.quick else ((36, 1), (36, 2), (60, 1), (120, 1))
        report.refining(refine(few, 1 if given.quick else 3, seconds / 2, seconds / 2, _say))
        report.write()
    if "published" in parts:
        _say("published instances")
        report.published(*gaps(seconds, 1, given.data, given.quick, _say))
        report.write()
    print(f"written: {given.out}")
    return 0


def _say(line: str) -> None:
    print(line, file=sys.stderr, flush=True)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="python -m benchmarks", description=__doc__)
    parser.add_argument("--quick", action="store_true", help="a few minutes instead of an hour")
    parser.add_argument("--only", action="append", choices=PARTS, help="this part alone; may be repeated")
    parser.add_argument("--seconds", type=float, help="time of each run (10; quick: 5)")
    parser.add_argument("--long-seconds", type=float, help="time of the long search (600; quick: 30)")
    parser.add_argument("--seeds", type=int, help="seeds on the demo's day (5; quick: 2)")
    parser.add_argument("--data", help="folder of published instances (else FEEDROUND_BENCHMARKS)")
    parser.add_argument("--out", default=str(PAGE), help="page to write")
    return parser


if __name__ == "__main__":
    sys.exit(main())
