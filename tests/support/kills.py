"""Kill the verbs that write, at any moment, and see what is left of what they acknowledged.

Each trial runs a verb in a process of its own, kills it (SIGKILL) after a random time or at a random call by
which it changes the disk, and looks at what is there as the next user would. Searching and drawing write
nothing, so plans and their files are made once; noting and writing them is what is killed.
"""

from __future__ import annotations

import io
import os
import random
import shutil
import signal
import sys
import time
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass, field
from datetime import date, timedelta
from datetime import time as clock_time
from pathlib import Path
from unittest import mock

from routing.app.cli.cli import main
from routing.app.workflow import roads as _loaded_once
from routing.app.workflow.outputs import PURPOSE, plan_files
from routing.app.workflow.replanning import propose_replan, record_replan
from routing.app.workflow.workflow import plan
from routing.files.log.log import DayLog, log_path
from routing.files.writing.staged import put_files, staged
from routing.log.corrections import still_waiting
from routing.log.facts import Planned as PlannedFact
from routing.log.facts import Skipped, Waiting
from routing.planning.plan.day import DayOptions
from routing.planning.run.solve import SolveOptions
from tests.support.disk_faults import count_calls, disk
from tests.support.folders import us_tables, write_folder
from tests.support.osm_xml import write_osm
from tests.support.road_maps import ROAD

DAY = date(2026, 9, 28)
SEARCH = SolveOptions(None, 3, 1, workers=1)
__all__ = ["VERBS", "Ground", "Tally", "_loaded_once", "kill_all"]

BAD_ROW = 'new,"'
"""At the end of a table it makes the whole table unreadable."""


@dataclass
class Tally:
    """What came of the trials of one verb."""

    verb: str
    trials: int = 0
    killed: int = 0
    acknowledged: int = 0
    faults: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class Ended:
    """What a run said before it ended, and whether it was killed."""

    said: str
    killed: bool


def run_killed(work: Callable[[], object], after_s: float | None) -> Ended:
    """Run ``work`` in a process of its own and kill it after a time (None: never)."""
    read, write = os.pipe()
    pid = os.fork()
    if pid == 0:
        try:
            os.dup2(write, 1)
            os.close(read)
            _speak(work)
        finally:
            os._exit(0)
    os.close(write)
    if after_s is not None:
        time.sleep(after_s)
        os.kill(pid, signal.SIGKILL)
    with os.fdopen(read, "rb") as pipe:
        said = pipe.read().decode()
    status = os.waitpid(pid, 0)[1]
    return Ended(said, os.WIFSIGNALED(status))


def _speak(work: Callable[[], object]) -> None:
    """All that is said goes to the pipe at once, as it would to a terminal."""
    with os.fdopen(1, "w", buffering=1, closefd=False) as out, redirect_stdout(out), redirect_stderr(out):
        work()
        out.flush()


def feedround(*words: object) -> None:
    """The command line with these words, in this very process."""
    with mock.patch.object(sys, "argv", ["feedround", *map(str, words)]):
        try:
            main()
        except SystemExit:
            return


class Ground:
    """An operation with a plan noted, and the files of two plans."""

    def __init__(self, home: Path, seed: int) -> None:
        self.home, self.chance = home, random.Random(seed)
        self.folder = write_folder(home / "farm", us_tables())
        options = DayOptions(None, SEARCH)
        made = [plan(self.folder, DAY + timedelta(days=n), options) for n in (0, 1)]
        self.plans = [_bytes(plan_files(one)) for one in made]
        first = home / "first.json"
        first.write_bytes(self.plans[0]["plan.json"])
        with redirect_stdout(io.StringIO()):
            # In this process, so that every run finds loaded what it needs and is killed at its own work.
            feedround("note", self.folder, "planned", first)
            _note(self.folder, "warm-up")

    def moment_s(self, longest_s: float) -> float:
        """A random moment of a run of that length, or somewhat after it."""
        return self.chance.uniform(0.0, 1.2 * longest_s)


def took_s(work: Callable[[], object]) -> float:
    """How long a run takes that nobody kills."""
    begun = time.monotonic()
    run_killed(work, None)
    return time.monotonic() - begun


def kill_notes(ground: Ground, trials: int) -> Tally:
    """Notes: each that printed its id is in the log, once."""
    tally, folder = Tally("note"), ground.folder
    longest_s = took_s(lambda: _note(folder, "pace"))
    told = []
    for number in range(trials):
        word = f"note-{number}"
        ended = run_killed(lambda word=word: _note(folder, word), ground.moment_s(longest_s))  # type: ignore[misc]
        _count(tally, ended, "Id: " in ended.said)
        if "Id: " in ended.said:
            told.append(word)
    found = _words(folder)
    tally.faults += [f"{word} is in the log {found[word]} times" for word in told if found[word] != 1]
    return tally


def kill_waiting(ground: Ground, trials: int) -> Tally:
    """Notes kept while a table is damaged, and taken in by runs that are killed too: none is lost."""
    tally, folder = Tally("waiting"), ground.folder
    table = folder / "yards.csv"
    whole = table.read_text(encoding="utf-8")
    table.write_text(whole + BAD_ROW, encoding="utf-8")
    longest_s = took_s(lambda: _note(folder, "pace-waiting"))
    told = []
    for number in range(trials - trials // 4):
        word = f"wait-{number}"
        ended = run_killed(lambda word=word: _note(folder, word), ground.moment_s(longest_s))  # type: ignore[misc]
        _count(tally, ended, "not lost" in ended.said)
        if "not lost" in ended.said:
            told.append(word)
    table.write_text(whole, encoding="utf-8")
    longest_s = 0.1 + 0.05 * len(told)
    for _ in range(trials // 4):
        ended = run_killed(lambda: feedround("note", folder, "waiting"), ground.moment_s(longest_s))
        _count(tally, ended, "No note waits" in ended.said or "were taken in" in ended.said)
    run_killed(lambda: feedround("note", folder, "waiting"), None)
    found = _words(folder)
    tally.faults += [f"{word} is in the log {found[word]} times" for word in told if found[word] != 1]
    with DayLog(log_path(folder)) as log:
        tally.faults += [f"{event.said} waits on" for event in still_waiting(log.events())]
    return tally


def kill_plans(ground: Ground, trials: int) -> Tally:
    """Plans written over each other: one plan's files at any moment, all of them when it was said."""
    tally, out = Tally("plan"), ground.home / "out"
    steps = count_calls(lambda: put_files(out, PURPOSE, ground.plans[0]))
    signed = out / "run_sheet_T1_signed.pdf"
    signed.write_bytes(b"signed")
    longest_s = took_s(lambda: put_files(out, PURPOSE, ground.plans[1]))
    for number in range(trials):
        new = ground.plans[number % 2]
        ended = _killed_somewhere(ground, number, steps, longest_s, lambda new=new: _write(out, new))  # type: ignore[misc]
        said = "written" in ended.said
        _count(tally, ended, said)
        tally.faults += _mixture(_there(out), ground.plans, new if said else None)
        if signed.read_bytes() != b"signed":
            tally.faults.append("the signed sheet was changed")
    return tally


def kill_replans(ground: Ground, trials: int) -> Tally:
    """Re-plans: the files lie there only when the log holds the plan, and all of them when it was said."""
    tally, farm, out = Tally("replan"), ground.home / "day", ground.home / "rest"
    made = propose_replan(ground.folder, DAY, clock_time(9, 0), SEARCH)
    plan_id, new = made.planned.plan.plan_id, _bytes(plan_files(made.planned))
    old = ground.plans[0]

    def work() -> None:
        with staged(out, PURPOSE, new) as put:
            record_replan(farm, made)
            put()
        print("written")

    def fresh() -> None:
        for folder in (farm, out):
            shutil.rmtree(folder, ignore_errors=True)
        shutil.copytree(ground.folder, farm)
        put_files(out, PURPOSE, old)

    fresh()
    longest_s = took_s(work)
    fresh()
    with redirect_stdout(io.StringIO()):
        steps = count_calls(work)
    for number in range(trials):
        fresh()
        ended = _killed_somewhere(ground, number, steps, longest_s, work)
        said, there = "written" in ended.said, _there(out)
        _count(tally, ended, said)
        tally.faults += _mixture(there, [old, new], new if said else None)
        with DayLog(log_path(farm)) as log:
            noted = any(isinstance(e.fact, PlannedFact) and e.fact.plan_id == plan_id for e in log.events())
            if noted and log.plan(plan_id) is None:
                tally.faults.append("the log names a plan that it does not hold")
        if not noted and (said or there.get("plan.json") == new["plan.json"]):
            tally.faults.append("files of a re-plan lie there that the log does not know")
    return tally


def kill_roads(ground: Ground, trials: int) -> Tally:
    """Road graphs: the old one or the new one, whole, and the new one when it was said."""
    tally, out = Tally("roads"), ground.home / "county.roads"
    extracts = [
        write_osm(ground.home / f"{n}.osm", {"a": (0, 1), "b": (1, 1), "c": (2, n)}, [("abc", ROAD)])
        for n in (1, 2)
    ]
    graphs = []
    for extract in extracts:
        run_killed(lambda extract=extract: feedround("roads", extract, "--out", out), None)  # type: ignore[misc]
        graphs.append(out.read_bytes())
    longest_s = took_s(lambda: feedround("roads", extracts[1], "--out", out))
    for number in range(trials):
        which = number % 2
        ended = run_killed(
            lambda which=which: feedround("roads", extracts[which], "--out", out),  # type: ignore[misc]
            ground.moment_s(longest_s),
        )
        said = "Road graph:" in ended.said
        _count(tally, ended, said)
        found = out.read_bytes()
        if found not in graphs or (said and found != graphs[which]):
            tally.faults.append("the road graph is neither the old one nor the new one")
    return tally


VERBS: dict[str, tuple[Callable[[Ground, int], Tally], float]] = {
    "note": (kill_notes, 0.3),
    "waiting": (kill_waiting, 0.3),
    "plan": (kill_plans, 0.15),
    "replan": (kill_replans, 0.1),
    "roads": (kill_roads, 0.15),
}
"""What is killed for each verb, and its share of the trials."""


def kill_all(home: Path, trials: int, seed: int = 20260928) -> list[Tally]:
    """Spread trials over the verbs. ``home``: an empty folder."""
    ground = Ground(home, seed)
    return [kill(ground, max(1, round(share * trials))) for kill, share in VERBS.values()]


def _note(folder: Path, word: str) -> None:
    feedround("note", folder, "skipped", "oak", "other", word, "-t", "T1", "-a", "11:00", "--date", DAY)


def _write(out: Path, files: dict[str, bytes]) -> None:
    put_files(out, PURPOSE, files)
    print("written")


def _killed_somewhere(
    ground: Ground, number: int, steps: int, longest_s: float, work: Callable[[], object]
) -> Ended:
    """Killed after a random time, or, every other time, at a random call that changes the disk."""
    if number % 2:
        return run_killed(work, ground.moment_s(longest_s))
    at = ground.chance.randint(1, steps + 2)

    def until_then() -> None:
        with disk(at, lambda: os.kill(os.getpid(), signal.SIGKILL)):
            work()

    return run_killed(until_then, None)


def _count(tally: Tally, ended: Ended, acknowledged: bool) -> None:
    tally.trials += 1
    tally.killed += ended.killed
    tally.acknowledged += acknowledged


def _words(folder: Path) -> Counter[str]:
    """How often each word was noted, waiting notes aside."""
    with DayLog(log_path(folder)) as log:
        facts = [event.fact for event in log.events()]
    assert any(isinstance(fact, (Skipped, Waiting)) for fact in facts)
    return Counter(fact.words for fact in facts if isinstance(fact, Skipped))


def _there(out: Path) -> dict[str, bytes]:
    """The files of plans in a folder, by name."""
    return {path.name: path.read_bytes() for path in out.glob("[!.]*") if "signed" not in path.name}


def _mixture(
    there: dict[str, bytes], plans: Sequence[dict[str, bytes]], wanted: dict[str, bytes] | None
) -> list[str]:
    """What is wrong with the files in a folder: of several plans, or not all of the one that was written."""
    faults = []
    if not any(there.items() <= one.items() for one in plans):
        faults.append(f"files of several plans, or damaged ones: {sorted(there)}")
    if wanted is not None and there != wanted:
        faults.append("a plan that was said to be written is not all there")
    return faults


def _bytes(files: Mapping[str, str | bytes]) -> dict[str, bytes]:
    return {name: c.encode("utf-8") if isinstance(c, str) else c for name, c in files.items()}
