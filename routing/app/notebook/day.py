"""Plan a day, look at it in a notebook, and write its files."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cached_property
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING

import pandas as pd

from routing.app.notebook.dates import Date, a_date
from routing.app.notebook.operation import ReadOperation
from routing.app.workflow.workflow import Needed, Planned, need_of, on_morning, plan_of
from routing.reports.frames import need as need_frames
from routing.reports.frames import plan as plan_frames
from routing.reports.words.format import plural

if TYPE_CHECKING:
    from routing.domain.plan import Plan
    from routing.planning.run.solve import Progress

MAP_HEIGHT_PX = 640
"""Of the map in a notebook (a choice)."""


class PlannedDay:
    """A day's plan that the audit has passed. A notebook shows its map; tables are DataFrames in SI."""

    def __init__(self, planned: Planned) -> None:
        self._planned = planned

    @property
    def plan(self) -> Plan:
        """The plan itself, shaped as plan.json."""
        return self._planned.plan

    @property
    def _needed(self) -> Needed:
        return self._planned.needed

    @property
    def stops(self) -> pd.DataFrame:
        """A row a stop, in order of truck and time."""
        return plan_frames.stops(self._needed.gathered.operation, self.plan)

    @property
    def pours(self) -> pd.DataFrame:
        """A row a stop, group and tank: what each group of colonies is given."""
        return plan_frames.pours(self.plan)

    @property
    def fills(self) -> pd.DataFrame:
        """A row a depot stop, syrup and tank: what is taken aboard."""
        return plan_frames.fills(self.plan)

    @property
    def unserved(self) -> pd.DataFrame:
        """A row a yard that gets nothing or only a part, with reason and remedy."""
        return plan_frames.unserved(self._needed.gathered.operation, self.plan)

    @property
    def totals(self) -> pd.DataFrame:
        """A row a truck: distance, hours, fuel, cost, colonies and litres."""
        return plan_frames.totals(self.plan)

    @property
    def warnings(self) -> pd.DataFrame:
        """A row a caution that goes with the plan."""
        return plan_frames.warnings(self.plan)

    @property
    def need(self) -> pd.DataFrame:
        """A row a yard: what it was to get when the day was planned, and why."""
        return need_frames.need(self._needed.gathered.operation, self._needed.needs)

    @property
    def doses(self) -> pd.DataFrame:
        """A row a group of colonies and feeder: litres a colony and in all."""
        return need_frames.doses(self._needed.needs)

    @cached_property
    def map_html(self) -> str:
        """The map as the text of an HTML file that opens without a network."""
        from routing.reports.map.html import map_html

        return map_html(self._needed.gathered.operation, self.plan, self._planned.travel)

    def write(self, out: str | Path) -> dict[str, Path]:
        """Write map, run sheets, plan.json and the other files into a folder; their paths by name.

        Raises FeedroundError where the folder cannot be written.
        """
        from routing.app.workflow.outputs import require_writable, write_outputs

        require_writable(Path(out))
        return write_outputs(self._planned, Path(out))

    def _repr_html_(self) -> str:
        return (
            f'<iframe srcdoc="{escape(self.map_html)}" title="{escape(repr(self))}" '
            f'style="width:100%;height:{MAP_HEIGHT_PX}px;border:0"></iframe>'
        )

    def __repr__(self) -> str:
        plan, totals = self.plan, self.plan.totals
        fed = f"{plural(totals.served_yards, 'yard')} and {totals.served_colonies:,} colonies fed"
        left = f"{plural(len(plan.unfed), 'yard')} not fed"
        trucks = plural(len(plan.routes), "truck")
        return f"{plan.operation}, {plan.date}: {trucks}, {fed} {totals.volume_l:,.0f} L, {left}"


def plan_day(
    operation: ReadOperation,
    day: Date,
    *,
    seconds: float = 10.0,
    iterations: int | None = None,
    seed: int = 1,
    trucks: Sequence[str] | None = None,
    must: Sequence[str] = (),
    on_progress: Callable[[Progress], None] | None = None,
) -> PlannedDay:
    """Plan a day of feeding, and have the plan audited.

    Parameters
    ----------
    operation
        As ``read_operation`` returns it.
    day
        The feeding date.
    seconds
        How long to search for better plans, at least 0.5.
    iterations
        Stop after so many iterations instead of seconds; the same seed then gives the same plan.
    seed
        Random seed, 0 or more.
    trucks
        Ids of the trucks to plan with; None: all that are available.
    must
        Ids of yards that no other yard may be fed before, like starving ones.
    on_progress
        Called with each better plan's ``Progress``; None: nobody is told.

    Returns
    -------
    PlannedDay
        Shown as a map in a notebook; ``stops``, ``unserved``, ``pours``, ``need`` and more are DataFrames.

    Raises
    ------
    FeedroundError
        Where a truck or yard is not known, where a planned day before was not noted, or where no plan is
        possible (``NoPlanError``).

    Notes
    -----
    The search runs in processes of its own. A script needs no ``if __name__ == "__main__"`` for them.
    """
    from routing.planning.plan.day import DayOptions
    from routing.planning.run.solve import SolveOptions

    search = SolveOptions(None if iterations is not None else seconds, iterations, seed)
    options = DayOptions(None if trucks is None else tuple(trucks), search, tuple(must))
    on = a_date(day)
    return PlannedDay(plan_of(need_of(on_morning(operation.gathered, on), on), options, on_progress))
