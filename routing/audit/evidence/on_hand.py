"""Work out again what a colony has on the planned day: comb and feeder, from its inspection on.

The rules are those of docs/need.md (sections 3, 4 and 6), stated here a second time.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, log

from routing.audit.evidence.book import Book
from routing.domain.places import ColonyGroup, Yard
from routing.domain.supplies import Feeder, FeederPosition, Syrup, SyrupKind

WARMTH = {True: ((10, 0.0), (13, 0.5), (18, 1.0)), False: ((7, 0.0), (10, 0.35), (13, 0.7), (18, 1.0))}
"""Share of the uptake by degrees C, for feeders outside the hive and in it."""

FULL_L = 1e-6


@dataclass(frozen=True)
class OnHand:
    """One colony: honey in comb, good syrup in the feeder and what it becomes, syrup that has spoilt."""

    stores_kg: float
    feeder_l: float = 0.0
    feeder_kg: float = 0.0
    coming_kg: float = 0.0
    spoilt_l: float = 0.0


def on_hand(book: Book, group: ColonyGroup) -> OnHand:
    """What one colony of a group has on the morning of the planned day.

    Events are gone through in the order of time: each feeding, the feeder running dry, its syrup spoiling.
    """
    feeder = book.operation.feeders.get(group.feeder_id)
    yard = book.operation.yards.get(group.yard_id)
    kg = judged_kg(book, group)
    days = float(days_since(book, group))
    use = use_kg(book, group) - group.flow_kg_per_day
    if feeder is None:
        return OnHand(max(0.0, kg - use * days))
    outside = feeder.position in (FeederPosition.ENTRANCE, FeederPosition.COMMUNAL)
    air_c = air(book, yard)
    rate = uptake_l(book, group, feeder, air_c)
    level = honey = age = keeps = clock = 0.0
    for at, litres, syrup_id in (*_feedings(group, feeder, days), (days, 0.0, "")):
        while clock < at:
            fresh = max(0.0, keeps - age) if level > FULL_L else 0.0
            eats = rate > 0 and fresh > 0
            step = min(at - clock, level / rate, fresh) if eats else at - clock
            gone = min(level, rate * step) if eats else 0.0
            gain = honey * gone / level if gone else 0.0
            kg = max(0.0, kg + gain - use * step)
            level, honey, age, clock = level - gone, honey - gain, age + step, clock + step
            if level <= FULL_L:
                level = honey = 0.0
        syrup = book.operation.syrups.get(syrup_id) or book.operation.syrups.get(group.syrup_id)
        if litres <= 0 or syrup is None:
            continue
        if level > FULL_L and age >= keeps:
            level = honey = 0.0
        own = keeping_days(book, syrup, air_c, outside=outside)
        keeps = min(keeps, own) if level > FULL_L else own
        age = age * level / (level + litres) if level > FULL_L else 0.0
        level, honey = level + litres, honey + litres * honey_kg_per_l(book, syrup)
    if level <= FULL_L:
        return OnHand(kg)
    if age >= keeps:
        return OnHand(kg, spoilt_l=level)
    return OnHand(kg, level, honey, honey * min(1.0, rate * (keeps - age) / level))


def _feedings(group: ColonyGroup, feeder: Feeder, days: float) -> list[tuple[float, float, str]]:
    """Days after the inspection, litres a colony, syrup: what was in the feeder then, and what came since."""
    sharers = max(1, group.colonies) if feeder.position is FeederPosition.COMMUNAL else 1
    found = [(0.0, group.feed_left_l / sharers, group.syrup_id)]
    for fed in group.fed:
        wall_h = fed.at.hour + fed.at.minute / 60 + fed.at.second / 3600
        at = (fed.at.date() - group.date).days + wall_h / 24
        found.append((min(at, days), fed.each_l, fed.syrup_id))
    return found


def judged_kg(book: Book, group: ColonyGroup) -> float:
    """Honey of one colony as the inspection judged it."""
    feeding, stores = book.operation.feeding, group.stores
    if stores.stores_kg is not None:
        return stores.stores_kg
    if stores.honey_frames is not None and stores.frame is not None:
        return stores.honey_frames * feeding.frame_kg(stores.frame)
    return max(0.0, (stores.gross_kg or 0.0) - (stores.tare_kg or 0.0))


def days_since(book: Book, group: ColonyGroup) -> int:
    """Days from the inspection of a group to the planned day."""
    return max(0, (book.plan.date - group.date).days)


def use_kg(book: Book, group: ColonyGroup) -> float:
    """What one colony uses in a day: the group's own figure, else the operation's."""
    return book.operation.feeding.daily_use_kg if group.daily_use_kg is None else group.daily_use_kg


def air(book: Book, yard: Yard | None) -> float:
    """Degrees C by day in a yard."""
    own = yard.temperature_c if yard is not None else None
    return book.operation.feeding.temperature_c if own is None else own


def uptake_l(book: Book, group: ColonyGroup, feeder: Feeder, air_c: float) -> float:
    """Litres a colony takes from its feeder in a day."""
    bees, where = book.operation.uptake, feeder.position
    frames = min(group.strength_frames, bees.most_frames(where))
    warmth = _between(WARMTH[where.value in ("entrance", "communal")], air_c)
    return bees.l_per_frame_day * frames * bees.speed(where) * warmth


def keeping_days(book: Book, syrup: Syrup, air_c: float, *, outside: bool) -> float:
    """Days a syrup keeps in a feeder: as its label says, else by strength and warmth."""
    if syrup.keeps_days is not None:
        return syrup.keeps_days
    warm_c = air_c if outside else max(air_c, min(air_c + 10.0, 30.0))
    at_30c = exp(
        _between([(solids, log(days)) for solids, days in book.operation.keeping.by_solids], syrup.solids)
    )
    return min(180.0, max(1.0, at_30c * exp(log(2.0) * (30.0 - warm_c) / 10.0)))


def honey_kg_per_l(book: Book, syrup: Syrup) -> float:
    """Stores that a litre of syrup becomes: sugar x conversion / (1 - moisture)."""
    feeding = book.operation.feeding
    sugar_kg = syrup.solids * (syrup.density_kg_per_l or 0.0)
    return sugar_kg * stored_share(book, syrup) / (1.0 - feeding.honey_moisture)


def stored_share(book: Book, syrup: Syrup) -> float:
    """Stored sugar for each unit fed: as typed for the syrup or for all; sugar syrups by strength."""
    feeding = book.operation.feeding
    typed = feeding.conversion if syrup.conversion is None else syrup.conversion
    if typed is not None:
        return typed
    if syrup.kind in (SyrupKind.HFCS42, SyrupKind.HFCS55, SyrupKind.INVERT):
        return feeding.conversion_inverted
    thin, middle, thick = feeding.conversion_1to1, feeding.conversion_3to2, feeding.conversion_2to1
    if syrup.solids <= 0.60:
        return thin + (middle - thin) * max(0.0, (syrup.solids - 0.50) / 0.10)
    return middle + (thick - middle) * min(1.0, (syrup.solids - 0.60) / (2 / 3 - 0.60))


def _between(rows: Sequence[tuple[float, float]], x: float) -> float:
    """Straight line between rows; the end rows hold beyond."""
    if x <= rows[0][0]:
        return rows[0][1]
    if x >= rows[-1][0]:
        return rows[-1][1]
    place = bisect_left([row[0] for row in rows], x)
    (x0, y0), (x1, y1) = rows[place - 1], rows[place]
    return y0 + (y1 - y0) * (x - x0) / (x1 - x0)
