"""Plan the rest of a day from its log."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import TYPE_CHECKING
from uuid import uuid4
from zoneinfo import ZoneInfo

from routing.app.workflow.reach import only_reachable
from routing.app.workflow.workflow import Needed, Planned, as_finished, audit_plan, audited, gather
from routing.domain.errors import FeedroundError
from routing.domain.operation import Operation
from routing.domain.plan import Plan
from routing.domain.units import DAY_S
from routing.files.log.log import DayLog, log_path, read_log
from routing.files.plan.plan_json import load_plan
from routing.log.events import Event
from routing.log.facts import Planned as PlannedFact
from routing.log.facts import Waiting
from routing.log.fold.fold import day_now
from routing.planning.replan.numbers import numbered
from routing.planning.replan.remaining_day import DayInProgress, remaining_day
from routing.planning.replan.replan import replan, worded_remaining
from routing.planning.run.solve import Progress, SolveOptions
from routing.reports.words.format import plural
from routing.travel.choose import travel_for
from routing.travel.leg_lines import drawn

if TYPE_CHECKING:
    from routing.audit import AuditReport


@dataclass(frozen=True)
class Replanning:
    """A plan for the rest of a day, and the one it replaces. ``seen``: the last event it knows of."""

    planned: Planned
    before: Plan
    now: datetime
    seen: int


def replan_day(
    folder: Path,
    on: date | None,
    at: time,
    search: SolveOptions,
    on_progress: Callable[[Progress], None] | None = None,
    *,
    record: bool = True,
) -> Replanning:
    """Plan what is left of a date (None: the newest in the log), audited, and note it in the day log.

    Raises FeedroundError when there is no log or no plan to go on from, and as ``record_replan`` does.
    """
    made = propose_replan(folder, on, at, search, on_progress)
    if record:
        record_replan(folder, made)
    return made


def propose_replan(
    folder: Path,
    on: date | None,
    at: time,
    search: SolveOptions,
    on_progress: Callable[[Progress], None] | None = None,
) -> Replanning:
    """Plan what is left of a date, audited; nothing is noted.

    Raises FeedroundError when there is no log or no plan to go on from.
    """
    log = read_log(folder)
    if log is None:
        raise FeedroundError(
            f"{folder}: there is no day log: record the plan the crews follow (feedround note)"
        )
    with log:
        events = log.events()
        day = on or max((event.day for event in events), default=date.min)
        gathered = gather(folder, day, today=False)
        operation = gathered.operation
        plans = log.plans_of([event for event in events if event.day == day])
        now = _moment(operation, day, at)
        state = day_now(operation, day, plans, events, now)
        if not state.plan_ids:
            raise FeedroundError(
                f"{day.isoformat()}: the day log holds no plan: record the plan the crews follow first"
            )
        before = plans[state.plan_ids[-1]]
        travel = travel_for(operation, folder)
        operation = only_reachable(operation, travel)
        made = replan(operation, travel, before, state, search, on_progress)
        travel, drawn_plan = drawn(made.remaining.operation, made.remaining.travel, made.plan, folder)
        drawn_plan = numbered(drawn_plan, before)
        plan = audited(
            made.remaining.operation,
            travel,
            drawn_plan,
            lambda plan: worded_remaining(operation, made.remaining, before, state, plan),
            state,
        )
    needed = Needed(replace(gathered, operation=made.remaining.operation), day, made.remaining.needs)
    return Replanning(Planned(needed, travel, plan, now), before, now, max(event.seq for event in events))


def record_replan(folder: Path, made: Replanning) -> None:
    """Note a re-plan as the plan that the crews drive by.

    Raises FeedroundError, with nothing noted, when anything was noted for its day since it was begun: a plan
    that was noted meanwhile replaces the same one, and a stop that was fed meanwhile is still in this one.
    """
    plan = made.planned.plan
    with DayLog(log_path(folder)) as log, log.writing():
        since = [
            event
            for event in log.events(plan.date, plan.date)
            if event.seq > made.seen and not isinstance(event.fact, Waiting)
        ]
        if since:
            raise FeedroundError(_overtaken(made, since))
        log.keep_plan(plan)
        log.add(Event(str(uuid4()), plan.date, made.now, PlannedFact(plan.plan_id, rest=True)))


def _overtaken(made: Replanning, since: Sequence[Event]) -> str:
    plans = [event.fact.plan_id for event in since if isinstance(event.fact, PlannedFact)]
    if plans:
        what = f"plan {plans[-1]} was noted meanwhile, in place of plan {made.before.plan_id}"
    else:
        what = f"{plural(len(since), 'note')} came in meanwhile ({', '.join(event.kind for event in since)})"
    return f"{what}: this re-plan was not noted, and no file was changed. Run it again: it goes on from there"


def audit_any(folder: Path, plan_file: Path) -> AuditReport:
    """Check any plan of an operation; a re-plan against the day as it stood when it was made.

    Raises FeedroundError when the day log does not know the re-plan.
    """
    made = load_plan(plan_file)
    return audit_remaining(folder, made) if made.replaces else audit_plan(folder, plan_file)[2]


def audit_remaining(folder: Path, made: Plan) -> AuditReport:
    """Check a re-plan by what the log held before it was noted there."""
    from routing.audit import audit

    log = read_log(folder)
    noted: Event | None = None
    if log is not None:
        with log:
            events = log.events(made.date, made.date)
            noted = next((e for e in events if _names(e, made.plan_id)), None)
            known = tuple(e for e in events if noted is not None and (e.seq or 0) < (noted.seq or 0))
            plans = log.plans_of(known)
    if noted is None:
        raise FeedroundError(
            f"plan {made.plan_id} holds the rest of a day that the day log of {folder} does not know: only a "
            "re-plan that was noted there (made without --look) can be checked"
        )
    gathered, now = gather(folder, made.date, upto=noted.seq - 1, today=False), noted.at
    travel = travel_for(gathered.operation, folder)
    operation = only_reachable(gathered.operation, travel)
    state = day_now(operation, made.date, plans, known, now)
    # A truck at work at a stop that it does finish began there before; one that leaves it begins now.
    leaving = frozenset(route.truck_id for route in made.routes if route.start >= now)
    if not state.plan_ids:
        raise FeedroundError(
            f"{made.date.isoformat()}: the day log holds no plan that {made.plan_id} replaces"
        )
    before = plans[state.plan_ids[-1]]
    remaining = remaining_day(DayInProgress(operation, travel, state, before), leaving)
    derive = as_finished(lambda plan: worded_remaining(operation, remaining, before, state, plan))
    return audit(remaining.operation, remaining.travel, made, state, derive)


def _names(event: Event, plan_id: str) -> bool:
    return isinstance(event.fact, PlannedFact) and event.fact.rest and event.fact.plan_id == plan_id


def _moment(operation: Operation, day: date, at: time) -> datetime:
    """A local time of a feeding date; small hours belong to the night shift that began on it."""
    window = operation.shift.window
    wall_s = at.hour * 3600 + at.minute * 60
    after_midnight = window.end_s > DAY_S and wall_s < window.end_s - DAY_S
    return datetime.combine(day + timedelta(days=after_midnight), at, ZoneInfo(operation.timezone))
