"""Play the told day of docs/a-day/story.txt through the command line, and write down what it says.

The story is the page docs/a-day.md before it was played: text, commands (indented, after ``$``), what to show
of their output (after ``|`` how a line begins, after ``|p`` how a paragraph does; all of it otherwise), and
directions to the player in ``<!-- -->``. ``{gate.name}`` and the like stand for what a direction found in the
plan that is driven.
"""

from __future__ import annotations

import io
import json
import re
import shlex
import sys
from collections.abc import Callable, Iterator
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import SimpleNamespace
from typing import Any
from unittest import mock
from zoneinfo import ZoneInfo

from routing.app.cli.cli import main
from routing.app.workflow.device import device_time
from routing.domain.operation import Operation
from routing.domain.plan import Plan, Route, Stop
from routing.domain.units import L_PER_US_GAL
from routing.files.plan.plan_json import load_plan

STORY = Path(__file__).parents[1] / "docs" / "a-day" / "story.txt"
DATE = "2026-09-28"
LITTLE_GAL = 20.0
"""Slips happen at yards that take at least so much, where there are any."""

Run = Callable[[list[str]], tuple[int, str]]
"""Runs the command line with these words; what it ended with, and all it said."""


def typed(words: list[str]) -> tuple[int, str]:
    """Run the command line in this very process."""
    said, code = io.StringIO(), 0
    with mock.patch.object(sys, "argv", ["feedround", *words]), redirect_stdout(said), redirect_stderr(said):
        try:
            main()
        except SystemExit as end:
            code = end.code if isinstance(end.code, int) else 1
    return code, said.getvalue()


def names_of(operation: Operation) -> dict[str, str]:
    """The name of every yard and depot by its id."""
    names = {yard.yard_id: yard.name for yard in operation.yards.values()}
    return names | {depot.depot_id: depot.name for depot in operation.depots.values()}


@dataclass(frozen=True)
class Told:
    """One command of the day and what came of it. ``by_plan``: a note of a stop that went as planned."""

    words: tuple[str, ...]
    code: int
    said: str
    by_plan: bool = False


@dataclass(frozen=True)
class _Due:
    """A note that a crew will make when its truck drives by the plan."""

    at: datetime
    truck_id: str
    stop: Stop
    words: tuple[str, ...]


@dataclass
class ToldDay:
    """The player. ``told`` are all commands so far, ``plans`` those driven, ``poured_l`` by yard as noted."""

    run: Run
    names: dict[str, str]
    told: list[Told] = field(default_factory=list)
    plans: list[tuple[Plan, Path]] = field(default_factory=list)
    found: dict[str, Any] = field(default_factory=dict)
    due: list[_Due] = field(default_factory=list)
    poured_l: dict[str, float] = field(default_factory=dict)
    now: datetime = datetime(2026, 9, 28, 11, 0, tzinfo=UTC)
    where: dict[str, str] = field(default_factory=dict)

    def play(self, story: str) -> str:
        """Play a whole story; the page that tells it."""
        lines = iter(story.splitlines())
        page: list[str] = []
        waiting: list[str] = []
        for line in [*lines, ""]:
            if line.startswith("    "):
                waiting.append(line.strip())
                continue
            page += self._commands(waiting)
            waiting = []
            if line.startswith("<!--"):
                page += self.direct(line.strip("<!-> "))
            else:
                page.append(self._filled(line))
        return re.sub(r"\n{3,}", "\n\n", "\n".join(page)).rstrip() + "\n"

    def _filled(self, text: str) -> str:
        return re.sub(r"\{([a-z_]+)(?:\.([a-z_]+))?\}", self._value, text)

    def _value(self, match: re.Match[str]) -> str:
        name, part = match.groups()
        return str(getattr(self.found[name], part) if part else self.found[name])

    def _commands(self, block: list[str]) -> Iterator[str]:
        """Run the commands of a block; they and what is shown of their output, as a block of the page."""
        while block:
            command, show = self._filled(block.pop(0).removeprefix("$ ")), []
            while block and block[0].startswith("|"):
                show.append(block.pop(0)[1:].strip())
            yield f"    $ {command}"
            yield from (f"    {line}" for line in _kept(self.type(shlex.split(command)[1:]).said, show))

    def type(self, words: list[str], *, by_plan: bool = False) -> Told:
        """Type one command. A plan that it makes is driven from then on."""
        # The device of a crew shows the time of the day that is told.
        with device_time(self.now):
            told = Told(tuple(words), *self.run(words), by_plan)
        self.told.append(told)
        if words[0] == "note" and (noted := re.search(r"^Id: (\w{8})", told.said, re.MULTILINE)):
            self.found["last_id"] = noted[1]
        if words[0] == "note" and words[2] == "out":
            self.due = [due for due in self.due if due.truck_id != words[3]]
        if words[0] in ("plan", "replan") and told.code in (0, 1):
            self._drive_by(Path(words[words.index("--out") + 1]) / "plan.json")
        return told

    def _drive_by(self, file: Path) -> None:
        plan = load_plan(file)
        self.plans.append((plan, file))
        if len(self.plans) == 1:
            self.now = min(route.start for route in plan.routes)
        notes = [due for route in plan.routes for due in self._notes(plan, route)]
        self.due = sorted(notes, key=lambda due: due.at)

    def _notes(self, plan: Plan, route: Route) -> Iterator[_Due]:
        """What the crew of a truck will note, stop by stop, if all goes by the plan."""
        truck_id = route.truck_id
        for stop in route.stops:
            place = _place_id(stop)
            # What was over before a re-plan is not noted again.
            late = self.now + timedelta(minutes=1) if plan.replaces else self.now
            arrive, leave = max(_minute(stop.arrive), late), max(_minute(stop.leave), late)
            if stop.kind in ("yard", "refill", "wash") and self.where.get(truck_id) != place:
                yield _Due(arrive, truck_id, stop, ("arrived", place))
            if done := self._done(plan, route, stop):
                yield _Due(leave, truck_id, stop, done)

    def _done(self, plan: Plan, route: Route, stop: Stop) -> tuple[str, ...]:
        place = _place_id(stop)
        if stop.kind == "start":
            if route.truck_id not in self.where:
                return ("started", route.truck_id)
            return ("refilled", place) if stop.fill else ()
        if stop.kind == "break":
            return ("break", f"{-(-(stop.leave - stop.begin).total_seconds() // 60):.0f}")
        verb = {"yard": "fed", "refill": "refilled", "wash": "washed", "end": "finished"}[stop.kind]
        return (verb, place)

    def drive(self, until: datetime) -> None:
        """Let the crews go on by the plan, and note every stop, until a moment."""
        while self.due and self.due[0].at <= until:
            due = self.due.pop(0)
            self.now = max(self.now, due.at)
            when = due.at.astimezone(ZoneInfo(self.plans[-1][0].timezone))
            truck = () if due.words[0] == "started" else ("--truck", due.truck_id)
            self.type(["note", "county", *due.words, *truck, "--at", f"{when:%H:%M}"], by_plan=True)
            self.where[due.truck_id] = _place_id(due.stop) if due.words[0] == "arrived" else ""
            if due.words[0] == "fed":
                self.pour(due.stop.place_id, sum(pour.volume_l for pour in due.stop.pour))
        self.now = max(self.now, until)

    def pour(self, yard_id: str, volume_l: float) -> None:
        """Book what a yard got by the notes, litres."""
        self.poured_l[yard_id] = self.poured_l.get(yard_id, 0.0) + volume_l

    def direct(self, words: str) -> list[str]:
        """Follow one direction of the story; the lines that it adds to the page."""
        if words == "drive to the end":
            self.drive(max((due.at for due in self.due), default=self.now))
        elif said := re.fullmatch(r"drive until (\d\d:\d\d)", words):
            if self.now > self._clock(said[1]):
                raise ValueError(f"it is {self.now} already: {words}")
            self.drive(self._clock(said[1]))
        elif said := re.fullmatch(
            r"drive until a truck (reaches|leaves) a yard after (\d\d:\d\d), call it (\w+)", words
        ):
            self.found[said[3]] = self._halt(said[1], self._clock(said[2]))
        elif said := re.fullmatch(r"gauge of (\w+), (\d+) gal less than the book, call it (\w+)", words):
            self.found[said[3]] = self._gauge(self.found[said[1]], float(said[2]))
        elif said := re.fullmatch(r"next refill after (\d\d:\d\d), call it (\w+)", words):
            self.found[said[2]] = self._refill(self._clock(said[1]))
        elif said := re.fullmatch(r"show the last notes (\w+) and (\w+)", words):
            last = {told.words[2]: told for told in self.told if told.by_plan}
            return [line for verb in said.groups() for line in _shown(last[verb])]
        else:
            raise ValueError(f"no direction that the player knows: {words}")
        return []

    def _clock(self, text: str) -> datetime:
        zone = ZoneInfo(self.plans[-1][0].timezone)
        return datetime.fromisoformat(f"{DATE} {text}").replace(tzinfo=zone)

    def _halt(self, phase: str, after: datetime) -> SimpleNamespace:
        """Drive until a truck reaches or leaves a yard that is pumped; what it notes is left to the story."""
        after = max(after, self.now + timedelta(minutes=1))
        verb = "arrived" if phase == "reaches" else "fed"
        there = [
            due
            for due in self.due
            if due.words[0] == verb
            and due.at >= after
            and due.stop.kind == "yard"
            and _pumped(due.stop, verb)
        ]
        halt = next((due for due in there if _gal(due.stop) >= LITTLE_GAL), there[0])
        if verb == "fed":
            self.due.remove(halt)
        self.drive(halt.at)
        self.due = [due for due in self.due if due.stop is not halt.stop]
        self.where[halt.truck_id] = ""
        pour = halt.stop.pour[0]
        gal = round(_gal(halt.stop), 1)
        when = halt.at.astimezone(ZoneInfo(self.plans[-1][0].timezone))
        return SimpleNamespace(
            id=halt.stop.place_id.lower(),
            yard_id=halt.stop.place_id,
            name=self.names[halt.stop.place_id],
            truck=halt.truck_id,
            tank=pour.tank_id,
            at=f"{when:%H:%M}",
            colonies=sum(pour.colonies for pour in halt.stop.pour),
            gal=f"{gal:g}",
            less=f"{round(0.8 * gal)}",
            tenfold=f"{10 * gal:g}",
            meter=f"1200-{1200 + gal - 6:g}",
        )

    def status(self, clock: str) -> dict[str, Any]:
        """How the day stands at a local time, as the command tells it to other programs."""
        _, said = self.run(["status", "county", "--date", DATE, "--now", clock, "--json"])
        return dict(json.loads(said))

    def _gauge(self, halt: SimpleNamespace, less_gal: float) -> SimpleNamespace:
        book_l = self.status(halt.at)["trucks"][halt.truck]["tanks"][halt.tank]["volume_l"]
        return SimpleNamespace(tank=halt.tank, gal=f"{max(0.0, book_l / L_PER_US_GAL - less_gal):.0f}")

    def _refill(self, after: datetime) -> SimpleNamespace:
        ahead = [due.stop.place_id for due in self.due if due.stop.kind == "refill" and due.at > after]
        depot_id = next(iter(ahead), "siding")
        return SimpleNamespace(id=depot_id, name=self.names[depot_id])


def _shown(told: Told) -> Iterator[str]:
    yield f"    $ feedround {shlex.join(told.words)}"
    yield from (f"    {line}" for line in _kept(told.said, []))


def _kept(said: str, show: list[str]) -> Iterator[str]:
    """What the page shows of what a command said: no empty lines, and no ids."""
    inside = False
    for line in said.splitlines():
        if not line.strip():
            inside = False
            continue
        inside = inside or any(line.startswith(p.removeprefix("p ")) for p in show if p.startswith("p "))
        if (inside or not show or line.strip().startswith(tuple(show))) and not line.startswith("Id: "):
            yield line.rstrip()


def _place_id(stop: Stop) -> str:
    return stop.place_id.lower() if stop.kind == "yard" else stop.place_id


def _pumped(stop: Stop, verb: str) -> bool:
    """Fed from tanks alone; and no starving yard stands behind a locked gate."""
    return all(pour.tank_id is not None for pour in stop.pour) and not (stop.starving and verb == "arrived")


def _gal(stop: Stop) -> float:
    return sum(pour.volume_l for pour in stop.pour) / L_PER_US_GAL


def _minute(moment: datetime) -> datetime:
    """The whole minute that a crew would note: the next one."""
    return moment + timedelta(seconds=-moment.second % 60)
