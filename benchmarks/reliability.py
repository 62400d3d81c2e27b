"""Kill the verbs that write, make every call to the disk fail in turn, and write what came of it.

    python -m benchmarks.reliability [--kills 1000] [--seed 20260928]

Writes the table of docs/reliability.md. Ends with 1 where anything that was acknowledged is lost.
"""

from __future__ import annotations

import argparse
import os
import shutil
import sys
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from unittest import mock

from benchmarks.common.page import table, write_section

PAGE = Path(__file__).parents[1] / "docs" / "reliability.md"
HEAD = ("what was done to it", "trials", "ended by it", "answered", "lost or mixed")

OLD = {"plan.json": "old plan", "sheet_a.html": "old a", "sheet_b.html": "old b"}
NEW = {"plan.json": "new plan", "sheet_a.html": "new a", "map.html": "new map"}


@dataclass(frozen=True)
class Row:
    """One line of the table."""

    what: str
    trials: int
    ended: int
    answered: int
    faults: tuple[str, ...]

    def cells(self) -> tuple[str, ...]:
        """As text."""
        return (
            self.what,
            f"{self.trials:,}",
            f"{self.ended:,}",
            f"{self.answered:,}",
            f"{len(self.faults)}",
        )


def kills(home: Path, trials: int, seed: int) -> list[Row]:
    """The verbs killed at any moment."""
    from tests.support.kills import kill_all

    return [
        Row(f"`{t.verb}` killed at any moment", t.trials, t.killed, t.acknowledged, tuple(t.faults))
        for t in kill_all(home, trials, seed)
    ]


def failing_calls(home: Path) -> list[Row]:
    """A set of files put in place of another, with each call to the disk refused in turn."""
    from routing.domain.errors import FeedroundError
    from routing.files.writing.staged import put_files
    from tests.support.disk_faults import DENIED, FULL, KILLED, count_calls, disk, fail_with, lost_at

    def fresh(out: Path) -> None:
        shutil.rmtree(out, ignore_errors=True)
        put_files(out, "plan", OLD)

    def seen(out: Path) -> dict[str, str]:
        return {path.name: path.read_text() for path in out.glob("[!.]*")}

    def refused(out: Path, at: int, error: OSError) -> bool:
        try:
            with disk(at, fail_with(error)):
                put_files(out, "plan", NEW)
        except FeedroundError:
            return True
        return False

    out = home / "set"
    fresh(out)
    steps = count_calls(lambda: put_files(out, "plan", NEW))
    rows = []
    kinds: dict[str, Callable[[int], bool]] = {
        "disk full": lambda at: refused(out, at, FULL),
        "no permission": lambda at: refused(out, at, DENIED),
        "process lost": lambda at: lost_at(at, lambda: put_files(out, "plan", NEW)) == KILLED,
    }
    for what, run in kinds.items():
        ended, faults = 0, []
        for at in range(1, steps + 1):
            fresh(out)
            stopped = run(at)
            ended += stopped
            there = seen(out).items()
            whole = there == NEW.items() or (stopped and there == OLD.items())
            partly = what == "process lost" and (there <= OLD.items() or there <= NEW.items())
            if not whole and not partly:
                faults.append(f"call {at}: {sorted(seen(out))}")
        rows.append(
            Row(f"files of a plan, every call in turn: {what}", steps, ended, steps - ended, tuple(faults))
        )
    return rows


def main() -> int:
    """Run everything and write the page."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--kills", type=int, default=1000, help="Kills in all, spread over the verbs.")
    parser.add_argument("--seed", type=int, default=20260928, help="Random seed.")
    said = parser.parse_args()
    # Plans are only there to be written: compiling the search for them would take longer than all the rest.
    plain = mock.patch.dict(os.environ, {"FEEDROUND_PLAIN": "1"})
    with plain, tempfile.TemporaryDirectory() as home:
        rows = [*kills(Path(home), said.kills, said.seed), *failing_calls(Path(home))]
    write_section(PAGE, "trials", table([HEAD, *(row.cells() for row in rows)]))
    lost = [f"{row.what}: {fault}" for row in rows for fault in row.faults]
    print("\n".join([*(" ".join(row.cells()) for row in rows), *lost]))
    return 1 if lost else 0


if __name__ == "__main__":
    sys.exit(main())
