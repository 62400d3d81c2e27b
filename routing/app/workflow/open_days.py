"""Ask what became of days that were planned and of which nothing was noted."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from routing.app.workflow.device import device_now
from routing.domain.errors import FeedroundError
from routing.domain.operation import Operation
from routing.files.log.log import read_log
from routing.log.carry.unheard import Unheard, unheard
from routing.log.corrections import in_force


def ask_about_days(folder: Path, operation: Operation, day: date) -> None:
    """Raise FeedroundError, with a command for each answer, where a day before was planned and not noted.

    Only days since the oldest inspection in use count: what came before it changes nothing.
    """
    log = read_log(folder)
    if log is None:
        return
    first = min((group.date for group in operation.groups), default=date.max)
    with log:
        events = in_force(log.events(first, day))
        open_days = unheard(events, log.plans_of(events), first, day, device_now())
    if open_days:
        raise FeedroundError("\n\n".join(_question(folder, one) for one in open_days))


def _question(folder: Path, one: Unheard) -> str:
    day, trucks = one.plan.date, " and ".join(one.truck_ids)
    command = f"feedround note {folder} --date {day}"
    lines = [
        f"{day}: plan {one.plan.plan_id} was noted as the one to drive, and of {trucks} nothing was noted "
        "since. What happened decides what is planned now:"
    ]
    for which in [""] if one.whole else [f" -t {truck_id}" for truck_id in one.truck_ids]:
        lines.append(f"  driven as planned:   {command} as-planned{which}")
        lines.append(f"  not driven:          {command} not-driven{which}")
    lines.append(f"  let me note it:      {command} sheet --out {day}.csv   (fill it in, then import it)")
    return "\n".join(lines)
