"""How many rounds of feeding are still to come, when the goal is met, and what would meet it in time."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil, floor, inf

MOST_ROUNDS = 999
"""Rounds stated where the feeder brings no more than is used between two visits: the goal is never met."""


@dataclass(frozen=True)
class Pace:
    """What one colony is short of, and what each further round brings it; litres of syrup and days.

    ``left_l`` is wanted after today; a round brings ``per_round_l``, of which ``use_l_per_day`` makes up for
    what is eaten. ``planned_days`` lie between visits; ``due_days`` after a feeding the feeder is empty, or
    its syrup spoilt. ``uptake_l_per_day`` is what the bees take down at most.
    """

    left_l: float
    per_round_l: float
    use_l_per_day: float
    planned_days: float
    due_days: float
    uptake_l_per_day: float

    @property
    def interval_days(self) -> float:
        """Days between rounds as planned; a feeder that lasts longer is not visited before it is empty."""
        return max(1.0, self.planned_days, self.due_days)


def rounds_at(pace: Pace, interval_days: float, per_round_l: float | None = None) -> int:
    """Further rounds until nothing is left to want, at an interval; ``MOST_ROUNDS`` for never."""
    if pace.left_l <= 1e-9:
        return 0
    gain_l = (pace.per_round_l if per_round_l is None else per_round_l) - pace.use_l_per_day * interval_days
    return min(MOST_ROUNDS, ceil(pace.left_l / gain_l - 1e-9)) if gain_l > 1e-9 else MOST_ROUNDS


def met_on(pace: Pace, day: date) -> date | None:
    """The date of the round that meets the goal; None: never at this pace."""
    rounds = rounds_at(pace, pace.interval_days)
    return None if rounds >= MOST_ROUNDS else day + timedelta(days=ceil(rounds * pace.interval_days))


def sooner_interval_days(pace: Pace, day: date, feed_by: date) -> float | None:
    """Days between rounds that meet the goal by a date: as soon as the feeder is empty; None: too late."""
    every = max(1.0, pace.due_days)
    if every >= pace.interval_days:
        return None
    rounds = rounds_at(pace, every)
    in_time = rounds < MOST_ROUNDS and rounds * every <= (feed_by - day).days
    return every if in_time else None


def larger_feeder_l(pace: Pace, day: date, feed_by: date) -> float | None:
    """The least a feeder must hold to meet the goal by a date at the planned interval; None: none does.

    None also where the bees could not take so much down between two visits.
    """
    every = max(1.0, pace.planned_days)
    visits = floor((feed_by - day).days / every)
    least = pace.left_l / visits + pace.use_l_per_day * every if visits > 0 else inf
    return least if least <= pace.uptake_l_per_day * every else None


def with_stronger(pace: Pace, ratio: float, day: date, feed_by: date) -> bool:
    """Whether a syrup that stores ``ratio`` times as much a litre meets the goal by a date."""
    every = pace.interval_days
    stronger = Pace(
        pace.left_l / ratio, pace.per_round_l, pace.use_l_per_day / ratio, pace.planned_days, pace.due_days,
        pace.uptake_l_per_day,
    )  # fmt: skip
    rounds = rounds_at(stronger, every)
    return rounds < MOST_ROUNDS and rounds * every <= (feed_by - day).days
