"""Gather, decide, apply: what every face of feedround does behind each verb."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from routing.app.workflow.morning import read_morning
from routing.app.workflow.open_days import ask_about_days
from routing.app.workflow.reach import only_reachable, road_problems, with_travel_warnings
from routing.domain.errors import FeedroundError, InputProblem, NoPlanError
from routing.domain.operation import Counts, Operation
from routing.domain.plan import AuditRecord, Finding, Plan
from routing.domain.ration import YardNeed
from routing.domain.travel import Travel
from routing.files.operation.folder import read_operation
from routing.files.plan.plan_json import load_plan, plan_digest, with_digest
from routing.log.day import DayNow
from routing.need.ration import need_of_day
from routing.need.syrup import resolve
from routing.travel.choose import travel_for
from routing.travel.leg_lines import drawn

if TYPE_CHECKING:
    from routing.audit import AuditReport
    from routing.planning.plan.day import DayOptions
    from routing.planning.run.solve import Progress

YEARS = range(1970, 2200)
"""Years a feeding day may lie in."""

PREPARING_WORDS = "Preparing the search for this computer, this once: it takes about a minute"


@dataclass(frozen=True)
class Gathered:
    """An operation ready to plan with, and what its files made us say.

    ``folder``: where it was read, and where files lie that its settings name; None: of tables in memory.
    ``noted``: the number of the last event of the day log that counts in it.
    """

    folder: Path | None
    operation: Operation
    problems: tuple[InputProblem, ...]
    noted: int = 0


@dataclass(frozen=True)
class Needed:
    """What every yard needs on a date."""

    gathered: Gathered
    day: date
    needs: tuple[YardNeed, ...]


@dataclass(frozen=True)
class Planned:
    """A plan that the audit has passed, with what it was made from.

    ``made_at``: the moment that a re-plan goes on from, printed on map and sheets.
    """

    needed: Needed
    travel: Travel
    plan: Plan
    made_at: datetime | None = None

    @property
    def complete(self) -> bool:
        """Whether every yard that is due today is fed."""
        return not self.plan.unfed


@dataclass(frozen=True)
class Checked:
    """What is questionable in an operation, and how much of it was read."""

    problems: tuple[InputProblem, ...]
    counts: Counts


def gather(folder: Path, day: date | None = None, *, upto: int | None = None, today: bool = True) -> Gathered:
    """Read an operation; with a date, as it stands on that morning by the day log.

    ``upto`` and ``today`` as in ``read_morning``. Raises InputError with every problem.
    """
    _require_day(day)
    operation, problems = read_operation(folder, day=day)
    gathered = Gathered(folder, resolve(operation), problems)
    return gathered if day is None else on_morning(gathered, day, upto, today=today)


def on_morning(gathered: Gathered, day: date, upto: int | None = None, *, today: bool = True) -> Gathered:
    """An operation that was read before, as it stands on the morning of a date by the day log.

    ``upto`` and ``today`` as in ``read_morning``. Tables in memory have no log, and stand as they are.
    """
    _require_day(day)
    if gathered.folder is None:
        return gathered
    operation, noted = read_morning(gathered.folder, gathered.operation, day, upto, today=today)
    return replace(gathered, operation=operation, noted=noted)


def _require_day(day: date | None) -> None:
    if day is not None and day.year not in YEARS:
        raise FeedroundError(f"--date {day.isoformat()}: not a feeding date: write it like 2026-09-28")


def check(folder: Path, day: date | None = None) -> Checked:
    """All warnings about an operation, and about its roads where it drives on a road graph; what was read.

    Raises InputError with every problem.
    """
    gathered = gather(folder, day)
    counts = Counts.of(gathered.operation)
    if gathered.operation.travel.method != "roads":
        return Checked(gathered.problems, counts)
    travel = travel_for(gathered.operation, folder)
    return Checked((*gathered.problems, *road_problems(gathered.operation, travel)), counts)


def need(folder: Path, day: date) -> Needed:
    """Judge what every yard needs on a date."""
    return need_of(gather(folder, day), day)


def need_of(gathered: Gathered, day: date) -> Needed:
    """The same for an operation that was read before."""
    return Needed(gathered, day, need_of_day(gathered.operation, day))


def best_so_far(progress: Progress) -> str:
    """The best plan so far in one line: what it costs but for the syrup, and how much could be gained."""
    from routing.planning.run.prepare import PREPARING

    if progress.stage == PREPARING:
        return f"{PREPARING_WORDS}: {100 * progress.share:.0f} %" if progress.share else PREPARING_WORDS
    gap = "" if progress.gap is None else f"; at most {progress.gap:.1%} above the optimum"
    left = f"visits left out: {progress.unserved}"
    return f"{progress.stage}: {progress.objective:,.0f} to beat, syrup not counted; {left}{gap}"


def plan(
    folder: Path,
    day: date,
    options: DayOptions,
    on_progress: Callable[[Progress], None] | None = None,
) -> Planned:
    """Plan a date and have the plan audited. Raises InputError, and what ``plan_of`` raises."""
    return plan_of(need(folder, day), options, on_progress)


def plan_of(
    needed: Needed, options: DayOptions, on_progress: Callable[[Progress], None] | None = None
) -> Planned:
    """Plan a date of an operation that was read before, and have the plan audited.

    Raises FeedroundError where a truck or yard is not known, and, with a command for each answer, where a
    day before was planned and nothing was noted of it; NoPlanError when no truck is to be had, and when the
    audit finds a fault: such a plan is never shown.
    """
    # Notes on a telephone do not wait for what only a plan needs.
    from routing.planning.plan.day import plan_day

    operation, folder, day = needed.gathered.operation, needed.gathered.folder, needed.day
    if folder is not None:
        ask_about_days(folder, operation, day)
    _known_trucks(operation, options.trucks)
    _known_yards(operation, options.must)
    travel = travel_for(operation, folder)
    operation = only_reachable(operation, travel)
    needed = replace(needed, gathered=replace(needed.gathered, operation=operation))
    made = plan_day(operation, travel, needed.needs, day, options, on_progress)
    travel, made = drawn(operation, travel, made, folder)
    made = replace(with_travel_warnings(made, travel), noted=needed.gathered.noted)
    return Planned(
        needed, travel, audited(operation, travel, made, worded_by(operation, needed.needs, travel))
    )


def worded_by(operation: Operation, needs: Sequence[YardNeed], travel: Travel) -> Callable[[Plan], Plan]:
    """What words a whole day's plan anew from its decisions."""
    from routing.planning.plan.words import worded

    return lambda made: with_travel_warnings(worded(operation, needs, made), travel)


def audited(
    operation: Operation, travel: Travel, made: Plan, say: Callable[[Plan], Plan], now: DayNow | None = None
) -> Plan:
    """The plan with its id and the audit's record. Raises NoPlanError when the audit finds a fault.

    ``say`` words a plan anew from its decisions; ``now``: how the day stood that the plan is the rest of.
    """
    from routing.audit import audit

    made = with_digest(made)
    report = audit(operation, travel, made, now, lambda plan: with_digest(say(plan)))
    if not report.passed:
        raise NoPlanError(_failed(report.findings))
    return replace(made, audit=AuditRecord(True, report.checks))


def as_finished(say: Callable[[Plan], Plan]) -> Callable[[Plan], Plan]:
    """What makes anew all that follows from the decisions of a finished plan: words, id and record."""
    from routing.audit import checks

    def anew(plan: Plan) -> Plan:
        return replace(say(plan), plan_id=plan_digest(plan), audit=AuditRecord(True, checks()))

    return anew


def _known_trucks(operation: Operation, truck_ids: Sequence[str] | None) -> None:
    if truck_ids is not None and not truck_ids:
        raise FeedroundError(f"--trucks is empty: this operation has {', '.join(operation.trucks)}")
    unknown = [t for t in truck_ids or () if t not in operation.trucks]
    if unknown:
        raise FeedroundError(
            f"--trucks: {', '.join(unknown)}: no such truck: this operation has {', '.join(operation.trucks)}"
        )


def _known_yards(operation: Operation, yard_ids: Sequence[str]) -> None:
    unknown = [y for y in yard_ids if y not in operation.yards]
    if unknown:
        raise FeedroundError(
            f"--must: {', '.join(unknown)}: no such yard: write the yard_id of yards.csv, "
            f"as {next(iter(operation.yards))}"
        )


def _failed(findings: Sequence[Finding]) -> str:
    lines = [f"  {finding.code}: {finding.text}" for finding in findings[:10]]
    return "\n".join(
        ["the plan breaks rules, so it is neither shown nor saved (a bug in feedround):", *lines]
    )


def audit_plan(folder: Path, plan_file: Path) -> tuple[Gathered, Plan, AuditReport]:
    """Check any plan of an operation, also one edited by hand."""
    from routing.audit import audit

    made = load_plan(plan_file)
    gathered = gather(folder, made.date, upto=made.noted)
    travel = travel_for(gathered.operation, folder)
    operation = only_reachable(gathered.operation, travel)
    say = worded_by(operation, need_of_day(operation, made.date), travel)
    report = audit(operation, travel, made, derive=as_finished(say))
    return replace(gathered, operation=operation), made, report
