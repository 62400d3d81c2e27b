"""How many litres of syrup would close the gap between what a colony has and what it should have."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from routing.domain.places import ColonyGroup
from routing.domain.settings import FeedingSettings
from routing.domain.supplies import Syrup
from routing.need.conversion import conversion_of
from routing.need.stores import OnHand, is_starving, net_use_kg_per_day
from routing.need.syrup import sugar_kg_per_l
from routing.need.target import box_kg, kept_kg


@dataclass(frozen=True)
class Deficit:
    """One colony's gap. ``wanted_kg`` is the honey that should stand there today, ``use_kg`` of which
    is eaten by the next visit (below zero: a flow brings more); ``deficit_kg`` is what is short of it;
    ``litres`` of syrup close it.
    """

    stores_kg: float
    wanted_kg: float
    use_kg: float
    deficit_kg: float
    litres: float
    by_build_up: bool = False


def honey_kg_per_l(sugar_kg_per_l: float, conversion: float, honey_moisture: float) -> float:
    """Stores (kg of ripe honey) that a litre of syrup becomes.

    stores = sugar * conversion / (1 - moisture). The bees use part of the sugar for the work of
    taking, inverting and drying the syrup: ``conversion`` is what they store of it (``conversion_of``).

    References: moisture of ripe honey, USDA AMS standards for grades of extracted honey (1985).
    """
    return sugar_kg_per_l * conversion / (1 - honey_moisture)


def stores_kg_per_l(syrup: Syrup, feeding: FeedingSettings) -> float:
    """Stores (kg of ripe honey) that a litre of a syrup becomes, by the operation's settings."""
    return honey_kg_per_l(sugar_kg_per_l(syrup), conversion_of(syrup, feeding), feeding.honey_moisture)


def syrup_for_deficit_l(
    deficit_kg: float, sugar_kg_per_l: float, conversion: float = 0.80, honey_moisture: float = 0.186
) -> float:
    """Litres of syrup that become ``deficit_kg`` of ripe honey; zero for no deficit."""
    return max(0.0, deficit_kg) / honey_kg_per_l(sugar_kg_per_l, conversion, honey_moisture)


def flow_suffices(group: ColonyGroup, has: OnHand, feeding: FeedingSettings, day: date) -> bool:
    """Whether a nectar flow, as noted, brings a colony to its goal in time without syrup.

    In time is the last feeding date in winter feeding, where one is set, else the next visit. In build-up a
    flow that covers the use does what syrup would. A starving colony never relies on a flow: it may end
    tomorrow.
    """
    if group.flow_kg_per_day <= 0 or is_starving(has, group, feeding):
        return False
    gain = -net_use_kg_per_day(group, feeding)
    if feeding.goal == "build":
        return gain >= 0
    days = feeding.next_visit_days
    if feeding.goal == "winter" and feeding.feed_by is not None:
        days = max(0, (feeding.feed_by - day).days)
    later_kg = has.stores_kg + has.feeder_kg + gain * days
    return gain >= 0 and later_kg >= kept_kg(group, feeding)


def deficit_of(group: ColonyGroup, has: OnHand, feeding: FeedingSettings, syrup: Syrup) -> Deficit:
    """The gap of one colony of a group against the operation's goal.

    What is in its feeder does not count here, but to say whether the target is met.

    ``winter``: a colony short of the target today is filled so that the target stands at the next
    visit: the use until then comes on top, less what a flow brings. One that holds the target is left
    alone (an order-up-to rule: nobody drives out for the use of a few days).
    ``survive``: the reserve days are to stand at the next visit. ``build``: a daily ration of syrup
    until the next visit whatever the stores, but never less than survival. A starving colony wants
    no less than takes it out of starving, and never less than the smallest dose. Nobody wants more than
    the box holds.
    """
    stores, kept = has.stores_kg, kept_kg(group, feeding)
    use = net_use_kg_per_day(group, feeding) * feeding.next_visit_days
    if feeding.goal == "winter" and stores + has.feeder_kg >= kept:
        use = 0.0
    wanted = min(kept + use, box_kg(group, feeding))
    use = wanted - kept
    short = max(0.0, wanted - stores)
    litres = short / stores_kg_per_l(syrup, feeding)
    if is_starving(has, group, feeding):
        litres = max(litres, feeding.min_dose_l)
    build_l = feeding.build_l_per_day * feeding.next_visit_days if feeding.goal == "build" else 0.0
    return Deficit(stores, wanted, use, short, max(litres, build_l), by_build_up=build_l > litres)
