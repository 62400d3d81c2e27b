"""Turn the wall clock of a feeding day into elapsed seconds, and back.

Planning counts elapsed seconds from local midnight of the feeding date. On the two days a year when
the clocks change, wall time and elapsed time differ; only this module knows that.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from routing.domain.errors import require
from routing.domain.units import DAY_S


@dataclass(frozen=True, order=True)
class TimeWindow:
    """Wall-clock seconds after local midnight; ``end_s`` passes 86,400 where midnight is crossed."""

    start_s: int
    end_s: int

    def __post_init__(self) -> None:
        require(0 <= self.start_s < DAY_S, f"a window starts within the day, not at {self.start_s} s")
        require(
            self.start_s < self.end_s <= self.start_s + DAY_S,
            f"a window ends after it starts and within a day of it, not at {self.end_s} s",
        )


ALL_DAY = TimeWindow(0, DAY_S)


@dataclass(frozen=True)
class DayClock:
    """The clock of one feeding date in one time zone."""

    date: date
    timezone: str

    @property
    def _midnight(self) -> datetime:
        return datetime.combine(self.date, time(0), ZoneInfo(self.timezone)).astimezone(UTC)

    def at(self, elapsed_s: float) -> datetime:
        """The aware local time, elapsed seconds after local midnight."""
        moment = self._midnight + timedelta(seconds=round(elapsed_s))
        return moment.astimezone(ZoneInfo(self.timezone))

    def elapsed_s(self, wall_s: int) -> int:
        """Elapsed seconds at a wall-clock reading (seconds after midnight, any day)."""
        days, rest = divmod(wall_s, DAY_S)
        wall = datetime.combine(self.date, time(0)) + timedelta(days=days, seconds=rest)
        return self.seconds(wall.replace(tzinfo=ZoneInfo(self.timezone)))

    def seconds(self, moment: datetime) -> int:
        """Elapsed seconds from local midnight of the date to an aware time."""
        return round((moment.astimezone(UTC) - self._midnight).total_seconds())

    def openings(
        self, windows: Iterable[TimeWindow], earliest_s: int, latest_s: int
    ) -> tuple[tuple[int, int], ...]:
        """The daily windows as elapsed ``(start, end)`` pairs that touch a horizon, in order, merged.

        A daily window repeats every day, so a night shift meets the window of the next morning too.
        No windows at all means always open.
        """
        daily = tuple(windows) or (ALL_DAY,)
        found = sorted(
            (self.elapsed_s(w.start_s + day * DAY_S), self.elapsed_s(w.end_s + day * DAY_S))
            for w in daily
            # A day more on either side: where the clocks change, days are not of one length.
            for day in range(earliest_s // DAY_S - 2, latest_s // DAY_S + 2)
        )
        merged: list[tuple[int, int]] = []
        for start, end in found:
            # A window that starts in the hour the clocks skip may come out as ended: it is not that day.
            if end <= start or end < earliest_s or start > latest_s:
                continue
            if merged and start <= merged[-1][1]:
                merged[-1] = (merged[-1][0], max(merged[-1][1], end))
            else:
                merged.append((start, end))
        return tuple(merged)
