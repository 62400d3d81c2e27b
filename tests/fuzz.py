"""Damage the input of every reader many times: python -m tests.fuzz --trials 100000 --seed 1.

The same seed gives the same trials. A fault is named by seed and trial; the memory of the whole run is capped
where the system can cap it. Exit code 1 where there are faults.
"""

from __future__ import annotations

import argparse
import contextlib
import sys

from tests.support.fuzz import Outcome, readers, server_answers, tried

MEMORY = 4 * 2**30
LONGEST_S = 5.0


def main() -> int:
    """Try the readers that are asked for, and print a row for each."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--trials", type=int, default=100_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", nargs="*", default=(), help="readers by the beginning of their name")
    asked = parser.parse_args()
    _cap_memory()
    faults = 0
    print("| reader | trials | read | refused | longest, s | faults |\n|---|---|---|---|---|---|")
    for reader in readers():
        if not asked.only or reader.name.startswith(tuple(asked.only)):
            faults += _shown(tried(reader, asked.trials, asked.seed, LONGEST_S))
    for kind in ("osrm", "valhalla"):
        if not asked.only or f"server {kind}".startswith(tuple(asked.only)):
            faults += _shown(server_answers(kind, asked.trials, asked.seed))
    return 1 if faults else 0


def _cap_memory() -> None:
    with contextlib.suppress(ImportError, ValueError, OSError):
        import resource

        resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))


def _shown(found: Outcome) -> int:
    cells = (
        found.reader,
        found.trials,
        found.read,
        found.refused,
        f"{found.longest_s:.2f}",
        len(found.faults),
    )
    print(f"| {' | '.join(map(str, cells))} |", flush=True)
    for fault in found.faults[:20]:
        print(f"  {found.reader}: {fault}", file=sys.stderr)
    return len(found.faults)


if __name__ == "__main__":
    sys.exit(main())
