"""What stores a colony should have: by its row, its hive, the operation's goal, and what the box holds."""

from __future__ import annotations

from routing.domain.places import ColonyGroup, Frame
from routing.domain.settings import FeedingSettings
from routing.need.stores import use_kg_per_day

NUCLEUS_FRAMES, SINGLE_FRAMES = 6.0, 12.0
"""A choice: up to so many frames for stores a hive is a nucleus, or a single box; above it is larger."""


def box_kg(group: ColonyGroup, feeding: FeedingSettings) -> float:
    """Honey that the frames of a hive can hold, kg; unbounded where their number is not given.

    Frames count as deep ones unless the row names another size.
    """
    if group.hive_frames is None:
        return float("inf")
    return group.hive_frames * feeding.frame_kg(group.stores.frame or Frame.DEEP)


def winter_target_kg(group: ColonyGroup, feeding: FeedingSettings) -> float:
    """Stores wanted for winter, kg: the row's own, else by the hive's size, never above what it holds."""
    frames = group.hive_frames
    if group.target_stores_kg is not None:
        wanted = group.target_stores_kg
    elif frames is None or frames > SINGLE_FRAMES:
        wanted = feeding.target_stores_kg
    else:
        by_hive = feeding.target_nucleus_kg if frames <= NUCLEUS_FRAMES else feeding.target_single_kg
        wanted = min(by_hive, feeding.target_stores_kg)
    return min(wanted, box_kg(group, feeding))


def kept_kg(group: ColonyGroup, feeding: FeedingSettings) -> float:
    """Honey that should always stand in a colony, kg: the winter target, or the reserve; never starvation."""
    use = use_kg_per_day(group, feeding)
    aim = winter_target_kg(group, feeding) if feeding.goal == "winter" else feeding.reserve_days * use
    return min(max(feeding.starving_days * use, aim), box_kg(group, feeding))
