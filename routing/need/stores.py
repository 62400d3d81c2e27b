"""What a colony has on hand, what it uses, and how long that lasts."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from routing.domain.places import ColonyGroup, Stores
from routing.domain.settings import FeedingSettings

MOST_DAYS = 999.0
"""Longest time stated."""


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


def stores_now_kg(group: ColonyGroup, feeding: FeedingSettings, day: date) -> float:
    """Honey per colony on the date, kg: as judged, less the use since then, with what a flow brought."""
    used = net_use_kg_per_day(group, feeding) * days_since_inspection(group, day)
    return max(0.0, judged_kg(group.stores, feeding) - used)


def days_of_stores(group: ColonyGroup, feeding: FeedingSettings, day: date) -> float:
    """Days until the stores of a colony are gone if nothing more comes in, at most ``MOST_DAYS``.

    A flow may end tomorrow: it is not counted on.
    """
    use = use_kg_per_day(group, feeding)
    if use <= 0:
        return MOST_DAYS
    return min(MOST_DAYS, stores_now_kg(group, feeding, day) / use)


def is_starving(group: ColonyGroup, feeding: FeedingSettings, day: date) -> bool:
    """Whether the colonies of a group run out so soon that they must be served."""
    return days_of_stores(group, feeding, day) < feeding.starving_days


def yard_days_of_stores(groups: Iterable[ColonyGroup], feeding: FeedingSettings, day: date) -> float:
    """Days until the first colony of a yard runs out; ``MOST_DAYS`` where none stands."""
    return min((days_of_stores(g, feeding, day) for g in groups if g.colonies > 0), default=MOST_DAYS)
