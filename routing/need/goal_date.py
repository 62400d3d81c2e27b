"""Say when the winter goal is missed, and what would meet it."""

from __future__ import annotations

from datetime import date

from routing.domain.settings import FeedingSettings
from routing.domain.supplies import Syrup
from routing.need.conversion import conversion_of
from routing.need.rounds import Pace, larger_feeder_l, met_on, sooner_interval_days, with_stronger
from routing.need.syrup import sucrose_kg_per_m3, sugar_kg_per_l
from routing.need.wording import Wording, days, short_date

STRONGEST = 2 / 3
"""Solids of the strongest syrup that is mixed of sugar: 2:1 by weight."""


def goal_missed(pace: Pace, syrup: Syrup, feeding: FeedingSettings, day: date, words: Wording) -> str:
    """That the last feeding date passes before the goal is met, and what would meet it; else nothing.

    Parameters
    ----------
    pace : what is left after today's dose, and what each round brings
    syrup, feeding : what is fed, and the settings with goal and ``feed_by``
    day : the feeding date
    words : how the operation says volumes
    """
    if feeding.goal != "winter" or feeding.feed_by is None or pace.left_l <= 0:
        return ""
    done = met_on(pace, day)
    if done is not None and done <= feeding.feed_by:
        return ""
    met = "never met" if done is None else f"met on {short_date(done)}, after {short_date(feeding.feed_by)}"
    ways = _ways(pace, syrup, feeding, day, feeding.feed_by, words)
    remedy = "; ".join(ways) or "no feeder or syrup alone: unite colonies, or give combs of honey"
    return (
        f"with a round every {days(pace.interval_days)} the target is {met} (feed_by); "
        f"what would meet it: {remedy}"
    )


def _ways(
    pace: Pace, syrup: Syrup, feeding: FeedingSettings, day: date, feed_by: date, words: Wording
) -> list[str]:
    """Each single change that meets the goal in time."""
    found = []
    if (every := sooner_interval_days(pace, day, feed_by)) is not None:
        found.append(f"come every {days(every)}, when the feeder is empty")
    if (least_l := larger_feeder_l(pace, day, feed_by)) is not None and least_l > pace.per_round_l:
        found.append(f"a feeder that holds {words.volume(least_l)}")
    if syrup.solids < STRONGEST - 0.01:
        strong = sucrose_kg_per_m3(STRONGEST) / 1000 * STRONGEST * feeding.conversion_2to1
        ratio = strong / (sugar_kg_per_l(syrup) * conversion_of(syrup, feeding))
        if with_stronger(pace, ratio, day, feed_by):
            found.append("2:1 in its place")
    return found
