"""How fast a colony empties a feeder.

No controlled figures are published for feeders of each kind: everything here is an estimate, fitted
to the few anchors named beside it.
"""

from __future__ import annotations

from routing.domain.supplies import FeederPosition
from routing.need.tables import Table, clamped

L_PER_FRAME_DAY = 0.125
"""Estimate: a strong colony (8 frames of bees) takes 1 L a day of 45-65 % syrup (the amount used for
pollination colonies, COLOSS BEEBOOK 7.2.1), a weak one of 2-4 frames 0.25-0.5 L (from memory)."""

# How much faster than an over-lid pail, and the frames of bees beyond which the feeder is the limit.
# Anchors: 2 gal over the lid lasts a strong colony about a week (common practice); 9 kg sugar in 5 days
# from a hive-top trough (single report): 10.2 L of 2:1, 2 L a day.
POSITION_FACTOR = {
    FeederPosition.ENTRANCE: 0.5,
    FeederPosition.LID: 1.0,
    FeederPosition.FRAME: 1.3,
    FeederPosition.TOP: 1.8,
    FeederPosition.COMMUNAL: 1.3,
}
FRAMES_LIMIT = {
    FeederPosition.ENTRANCE: 8.0,
    FeederPosition.LID: 10.0,
    FeederPosition.FRAME: 14.0,
    FeederPosition.TOP: 20.0,
    FeederPosition.COMMUNAL: 20.0,
}

# Share of the full uptake by air temperature: bees are immobile below 7-10 C and fly from 10-13 C.
IN_HIVE: Table = ((7, 0.0), (10, 0.35), (13, 0.7), (18, 1.0))
OUTSIDE: Table = ((10, 0.0), (13, 0.5), (18, 1.0))


def temperature_share(position: FeederPosition, temperature_c: float) -> float:
    """Share (0 to 1) of the full uptake at an air temperature. Estimate.

    References: chill coma of worker bees below 7-10 degrees C and flight from 10-13 (several sources,
    Heinrich); the line between is an assumption.
    """
    outside = position in (FeederPosition.ENTRANCE, FeederPosition.COMMUNAL)
    return clamped(OUTSIDE if outside else IN_HIVE, temperature_c)


def uptake_l_per_day(strength_frames: float, position: FeederPosition, temperature_c: float) -> float:
    """Litres of syrup a colony takes in a day: by frames of bees, feeder position, air temperature."""
    frames = min(strength_frames, FRAMES_LIMIT[position])
    return L_PER_FRAME_DAY * frames * POSITION_FACTOR[position] * temperature_share(position, temperature_c)


def days_to_empty(
    volume_l: float, strength_frames: float, position: FeederPosition, temperature_c: float
) -> float:
    """Days in which a colony takes a volume: when to look again. Infinite when it takes nothing."""
    rate = uptake_l_per_day(strength_frames, position, temperature_c)
    return volume_l / rate if rate > 0 else float("inf")


def taken_before_spoiling_l(
    strength_frames: float, position: FeederPosition, temperature_c: float, keeps_days: float
) -> float:
    """Litres that a colony takes before the syrup has spoilt: more is not worth giving."""
    return uptake_l_per_day(strength_frames, position, temperature_c) * keeps_days
