"""How fast a colony empties a feeder.

No controlled figures are published for feeders of each kind: everything here is an estimate, fitted
to the few anchors named in ``UptakeSettings``.
"""

from __future__ import annotations

from routing.domain.feed_settings import UptakeSettings
from routing.domain.supplies import FeederPosition
from routing.need.tables import Table, clamped

DEFAULT = UptakeSettings()

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


def uptake_l_per_day(
    strength_frames: float,
    position: FeederPosition,
    temperature_c: float,
    bees: UptakeSettings = DEFAULT,
) -> float:
    """Litres of syrup a colony takes in a day: by frames of bees, feeder position, air temperature."""
    frames = min(strength_frames, bees.most_frames(position))
    speed = bees.speed(position) * temperature_share(position, temperature_c)
    return bees.l_per_frame_day * frames * speed


def days_to_empty(volume_l: float, rate_l_per_day: float) -> float:
    """Days in which a colony takes a volume: when to look again. Infinite when it takes nothing."""
    return volume_l / rate_l_per_day if rate_l_per_day > 0 else float("inf")
