"""Say what contestants find on two cores: the planner's two workers, the better of two seeds of others."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace

from benchmarks.sets.results import Result

TWO = ", 2 cores"


def on_two_cores(results: Sequence[Result]) -> list[Result]:
    """Results on two cores by contestant, named as it is on one; a pair of runs has the first one's seed.

    A contestant of one thread gets the best that two cores can do for it: two seeds side by side, 1 and 2,
    3 and 4, the cheaper plan kept. As nobody waits for a core, the pair may be run one after the other.
    """
    found = [
        replace(r, contestant=r.contestant.removesuffix(TWO)) for r in results if r.contestant.endswith(TWO)
    ]
    runs: dict[tuple[str, str, float], dict[int, Result]] = defaultdict(dict)
    for r in results:
        if not r.contestant.endswith(TWO):
            runs[r.instance, r.contestant, r.seconds][r.seed] = r
    whole = {r.contestant for r in found}
    for (_, name, _), by_seed in runs.items():
        if name in whole:
            continue
        firsts = [seed for seed in by_seed if seed % 2 and seed + 1 in by_seed]
        found += [better(by_seed[seed], by_seed[seed + 1]) for seed in firsts]
    return found


def better(a: Result, b: Result) -> Result:
    """The cheaper of two runs under the seed of the first; one without a plan is dearer than any."""
    gap_a, gap_b = a.gap, b.gap
    best = b if gap_b is not None and (gap_a is None or gap_b < gap_a) else a
    trouble = best.trouble if best.gap is None else ""
    return replace(best, seed=a.seed, trouble=trouble)
