"""What a colony was found with, what it uses, and how long what it has lasts."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from routing.domain.places import ColonyGroup, Stores
from routing.domain.settings import FeedingSettings

MOST_DAYS = 999.0
"""Longest time stated."""


@dataclass(frozen=True)
class OnHand:
    """What one colony has on the morning of a date.

    ``stores_kg`` is ripe honey in its combs; ``feeder_l`` is good syrup in its feeder, which becomes
    ``feeder_kg`` of stores, ``coming_kg`` of it before it spoils. ``spoilt_l`` is syrup in the feeder that
    has passed its keeping time of ``keeps_days``, to be tipped out. Since the inspection (with what was in
    the feeder then) ``taken_l`` was taken down and ``lost_l`` tipped out.
    """

    stores_kg: float
    feeder_l: float = 0.0
    feeder_kg: float = 0.0
    coming_kg: float = 0.0
    spoilt_l: float = 0.0
    keeps_days: float = 0.0
    taken_l: float = 0.0
    lost_l: float = 0.0


def judged_kg(stores: Stores, feeding: FeedingSettings) -> float:
    """Honey per colony as judged, kg: the weight given, or frames of honey, or gross less tare."""
    if stores.stores_kg is not None:
        return stores.stores_kg
    if stores.honey_frames is not None and stores.frame is not None:
        return stores.honey_frames * feeding.frame_kg(stores.frame)
    return (stores.gross_kg or 0.0) - (stores.tare_kg or 0.0)


def use_kg_per_day(group: ColonyGroup, feeding: FeedingSettings) -> float:
    """Honey a colony uses in a day, kg: its own row's figure, else the operation's."""
    return feeding.daily_use_kg if group.daily_use_kg is None else group.daily_use_kg


def net_use_kg_per_day(group: ColonyGroup, feeding: FeedingSettings) -> float:
    """Honey a colony uses beyond what a flow brings, kg/day; below zero where the flow brings more."""
    return use_kg_per_day(group, feeding) - group.flow_kg_per_day


def days_since_inspection(group: ColonyGroup, day: date) -> int:
    """Whole days from the inspection to the date; zero when it lies ahead."""
    return max(0, (day - group.date).days)


def days_of_stores(has: OnHand, group: ColonyGroup, feeding: FeedingSettings) -> float:
    """Days until the stores of a colony and what it takes from its feeder are gone, at most ``MOST_DAYS``.

    A flow may end tomorrow: it is not counted on.
    """
    use = use_kg_per_day(group, feeding)
    if use <= 0:
        return MOST_DAYS
    return min(MOST_DAYS, (has.stores_kg + has.coming_kg) / use)


def is_starving(has: OnHand, group: ColonyGroup, feeding: FeedingSettings) -> bool:
    """Whether the colonies of a group run out so soon that they must be served."""
    return days_of_stores(has, group, feeding) < feeding.starving_days
