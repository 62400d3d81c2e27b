"""What a colony has today: as inspected, more what it was fed since, less what it used."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from routing.domain.operation import Operation
from routing.domain.places import ColonyGroup
from routing.domain.supplies import FeederPosition
from routing.need.air.temperature import temperature_of
from routing.need.deficit import stores_kg_per_l
from routing.need.keeping import keeping_days_in_feeder
from routing.need.stores import (
    MOST_DAYS,
    OnHand,
    days_of_stores,
    days_since_inspection,
    judged_kg,
    net_use_kg_per_day,
)
from routing.need.uptake import uptake_l_per_day

NOTHING_L = 1e-6
"""Less syrup than this in a feeder is rounding."""


def on_hand(group: ColonyGroup, operation: Operation, day: date) -> OnHand:
    """What one colony of a group has on the morning of a date.

    Followed from the inspection on: every feeding fills the feeder, the colony takes it down at its uptake
    and stores it, and uses its stores day by day (they never fall below nothing). Syrup past its keeping
    time is taken no more; the next feeding finds it tipped out.

    Parameters
    ----------
    group
        The colonies as inspected, with what they were fed since.
    operation
        With densities resolved; gives feeder, syrups, settings and the air temperature.
    day
        The date; feedings up to its first moment count. An inspection ahead of it stands as it is.
    """
    yard, settings = operation.yards.get(group.yard_id), operation.feeding
    feeder = operation.feeders[group.feeder_id]
    air_c = temperature_of(yard, operation) if yard else settings.temperature_c
    colony = _Colony(
        stores_kg=max(0.0, judged_kg(group.stores, settings)),
        use_kg_per_day=net_use_kg_per_day(group, settings),
        uptake_l_per_day=uptake_l_per_day(group.strength_frames, feeder.position, air_c, operation.uptake),
    )
    days = days_since_inspection(group, day)
    sharers = max(1, group.colonies) if feeder.position is FeederPosition.COMMUNAL else 1
    left_l = group.feed_left_l / sharers
    fed = [
        (0.0, left_l, group.syrup_id),
        *((f.days_after(group.date), f.each_l, f.syrup_id) for f in group.fed),
    ]
    for at, volume_l, syrup_id in fed:
        syrup = operation.syrups.get(syrup_id, operation.syrups[group.syrup_id])
        keeps = keeping_days_in_feeder(syrup, feeder.position, air_c, operation.keeping)
        colony.live_until(min(at, days))
        colony.fill(volume_l, stores_kg_per_l(syrup, settings), keeps)
    colony.live_until(days)
    return colony.on_hand()


def yard_days_of_stores(groups: Iterable[ColonyGroup], operation: Operation, day: date) -> float:
    """Days until the first colony of a yard runs out; ``MOST_DAYS`` where none stands."""
    settings = operation.feeding
    standing = (group for group in groups if group.colonies > 0)
    return min(
        (days_of_stores(on_hand(group, operation, day), group, settings) for group in standing),
        default=MOST_DAYS,
    )


@dataclass
class _Colony:
    """One colony from its inspection on. ``now`` is in days since; the feeder's syrup has a mean ``age``."""

    stores_kg: float
    use_kg_per_day: float
    uptake_l_per_day: float
    now: float = 0.0
    level_l: float = 0.0
    level_kg: float = 0.0
    age: float = 0.0
    keeps: float = 0.0
    taken_l: float = 0.0
    lost_l: float = 0.0

    @property
    def spoilt(self) -> bool:
        """Whether what is in the feeder is past its keeping time."""
        return self.level_l > NOTHING_L and self.age >= self.keeps

    def fill(self, volume_l: float, kg_per_l: float, keeps: float) -> None:
        """Pour syrup in; what was spoilt is tipped out before, and the rest is mixed with it.

        The age of a mix is the mean by volume (a choice), its keeping time the shorter one.
        """
        if volume_l <= 0:
            return
        if self.spoilt:
            self.lost_l += self.level_l
            self.level_l = self.level_kg = 0.0
        fresh = self.level_l <= NOTHING_L
        self.keeps = keeps if fresh else min(self.keeps, keeps)
        self.age = 0.0 if fresh else self.age * self.level_l / (self.level_l + volume_l)
        self.level_l += volume_l
        self.level_kg += volume_l * kg_per_l

    def live_until(self, moment: float) -> None:
        """Take from the feeder and use stores until a moment."""
        days = moment - self.now
        if days <= 0:
            return
        feeding = min(days, self._takes_l() / self.uptake_l_per_day) if self.uptake_l_per_day > 0 else 0.0
        taken_l = min(self.level_l, feeding * self.uptake_l_per_day)
        taken_kg = self.level_kg * taken_l / self.level_l if taken_l > 0 else 0.0
        self.stores_kg = max(0.0, self.stores_kg + taken_kg - self.use_kg_per_day * feeding)
        self.stores_kg = max(0.0, self.stores_kg - self.use_kg_per_day * (days - feeding))
        self.level_l, self.level_kg = self.level_l - taken_l, self.level_kg - taken_kg
        self.taken_l += taken_l
        self.age += days
        self.now = moment

    def _takes_l(self) -> float:
        """Litres that are taken from now on before they have spoilt."""
        return min(self.level_l, self.uptake_l_per_day * max(0.0, self.keeps - self.age))

    def on_hand(self) -> OnHand:
        """How it stands."""
        spoilt, level_l = self.spoilt, self.level_l if self.level_l > NOTHING_L else 0.0
        good_l = 0.0 if spoilt else level_l
        coming = self._takes_l() / self.level_l if good_l else 0.0
        return OnHand(
            stores_kg=self.stores_kg,
            feeder_l=good_l,
            feeder_kg=self.level_kg if good_l else 0.0,
            coming_kg=self.level_kg * coming,
            spoilt_l=level_l if spoilt else 0.0,
            keeps_days=self.keeps,
            taken_l=self.taken_l,
            lost_l=self.lost_l,
        )
