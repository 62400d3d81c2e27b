"""Judge what the yards of a day in progress still need: fed in part, shut, skipped, called in."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from zoneinfo import ZoneInfo

from routing.domain.clock import DayClock, TimeWindow
from routing.domain.operation import Operation
from routing.domain.places import ColonyGroup, Yard
from routing.domain.ration import ReasonCode, YardNeed
from routing.domain.units import DAY_S
from routing.log.day import GroupNow, YardNow
from routing.log.facts import SkipReason
from routing.planning.replan.calls import called_in

# A crew turned away for want of time or syrup may come back today; for these reasons only word from the
# yard (when the gate opens) brings it back.
MAY_RETRY = frozenset({SkipReason.NO_TIME, SkipReason.NO_SYRUP})


def wall_s(clock: DayClock, moment: datetime) -> int:
    """Wall-clock seconds after local midnight of the date; past 86,400 after the next midnight."""
    local = moment.astimezone(ZoneInfo(clock.timezone))
    days = (local.date() - clock.date).days
    return days * DAY_S + local.hour * 3600 + local.minute * 60 + local.second


def still_open(
    windows: tuple[TimeWindow, ...], opens: datetime, now: datetime, clock: DayClock
) -> tuple[TimeWindow, ...]:
    """Daily windows that stand for ``windows`` from ``opens`` on, within a day of ``now``; maybe none."""
    # A second short of a day: the copy of the last window of yesterday must not end at this very moment.
    first_s, last_s = clock.seconds(opens), clock.seconds(now) + DAY_S - 1
    left = []
    for start, end in clock.openings(windows, first_s, last_s):
        a = wall_s(clock, clock.at(max(start, first_s)))
        b = wall_s(clock, clock.at(min(end, last_s)))
        if a < b:
            left.append(TimeWindow(a % DAY_S, a % DAY_S + min(b - a, DAY_S)))
    return tuple(left)


def yard_now(yard: Yard, known: YardNow | None, now: datetime, clock: DayClock) -> Yard:
    """A yard that was found closed is open only from the time that was told."""
    if known is None or not known.closed or known.closed_until is None or known.closed_until <= now:
        return yard
    left = still_open(yard.windows, known.closed_until, now, clock)
    return replace(yard, windows=left) if left else yard


def group_left(group: ColonyGroup, known: YardNow | None, wanted: Mapping[tuple[str, str], int]) -> int:
    """Colonies of a group that still wait.

    ``wanted``: colonies to feed by (yard, group), for yards that the plan feeds only in part; what is due
    there by the plan is not all that waits.
    """
    row = next((r for r in known.groups if r.group == group.group), None) if known else None
    if known is None or not any(r.fed_colonies for r in known.groups):
        return group.colonies
    if row is None:
        return wanted.get((group.yard_id, group.group), 0)
    if _closed_early(row):
        return 0
    due = max(row.due_colonies, wanted.get((group.yard_id, group.group), 0))
    return max(0, min(due, due if row.alive is None else row.alive) - row.fed_colonies)


def _closed_early(row: GroupNow) -> bool:
    """Whether a crew said that nothing more is due, with colonies of the plan unfed."""
    living = row.due_colonies if row.alive is None else min(row.due_colonies, row.alive)
    return not row.left_colonies and row.fed_colonies < living


def need_now(
    need: YardNeed, known: YardNow | None, operation: Operation, now: datetime, clock: DayClock
) -> YardNeed:
    """A yard's need in the light of what the day brought: closed, called in, skipped."""
    if known is None:
        return need
    if known.closed and (need.doses or known.urgent):
        if known.closed_until is None:
            return _not_today(need, "the yard is closed today")
        yard = operation.yards[need.yard_id]
        if known.closed_until > now and not still_open(yard.windows, known.closed_until, now, clock):
            told = known.closed_until.astimezone(ZoneInfo(clock.timezone))
            return _not_today(need, f"closed until {told:%H:%M}, and out of its hours after that")
    skipped, wanted = known.skipped, bool(need.doses) or known.urgent
    if wanted and skipped is not None and not known.closed and skipped.reason not in MAY_RETRY:
        words = skipped.reason.value.replace("_", " ") + (f" ({skipped.words})" if skipped.words else "")
        when = skipped.at.astimezone(ZoneInfo(clock.timezone))
        return _not_today(need, f"skipped at {when:%H:%M}: {words}")
    return called_in(need, known, operation, clock.date) if known.urgent else need


def _not_today(need: YardNeed, reason: str) -> YardNeed:
    remedy = "note when it can be entered again, or feed it on another day"
    return replace(need, doses=(), reason_code=ReasonCode.SKIPPED, reason=reason, remedy=remedy)
