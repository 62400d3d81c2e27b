"""Hold the samples of many days as data frames: pours against the plan, handling, and losses of tanks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

import pandas as pd

from routing.log.learn.samples import Gauge, Handling, Metered, PlannedPour, RealPour, Samples

_GROUP = ["day", "yard_id", "group"]


@dataclass(frozen=True)
class TankLoss:
    """One tank (``tank_id`` empty: the meter of the truck) on one day.

    ``lost_l``: by the book more than the gauge showed, or by the meter more than was noted.
    """

    day: date
    truck_id: str
    tank_id: str
    poured_l: float
    lost_l: float
    gauged: bool


def frame(rows: Sequence[Any], kind: Any) -> pd.DataFrame:
    """Rows of one kind of sample, with its fields as columns."""
    return pd.DataFrame(rows, columns=list(kind._fields))


def handlings(samples: Samples) -> pd.DataFrame:
    """Seconds a colony of every visit, by feeder, truck and crew."""
    return frame(samples.handlings, Handling)


def pours(samples: Samples) -> pd.DataFrame:
    """Measured pours by note, group and feeder: ``poured_l``, ``planned_l`` for as many colonies, ``share``.

    Pours that no plan of their day gives anything to are left out.
    """
    real = frame(samples.poured, RealPour)
    real = real[real["measured"].astype(bool)]
    keys = ["day", "event_id", "truck_id", "yard_id", "group", "feeder_id"]
    sums = real.groupby(keys, sort=False, as_index=False)[["colonies", "volume_l"]].sum()
    found = sums.merge(_planned_each_l(samples), on=_GROUP)
    found["planned_l"] = found["each_l"] * found["colonies"]
    found = found[found["planned_l"] > 0].rename(columns={"volume_l": "poured_l"})
    return found.assign(share=found["poured_l"] / found["planned_l"])


def _planned_each_l(samples: Samples) -> pd.DataFrame:
    """Litres a colony by day, yard and group, as the newest plan of the day that feeds them gives it."""
    planned = frame(samples.planned, PlannedPour)
    sums = planned.groupby([*_GROUP, "plan"], as_index=False)[["colonies", "volume_l"]].sum()
    fed = sums[(sums["colonies"] > 0) & (sums["volume_l"] > 0)]
    newest = fed.groupby(_GROUP, as_index=False).last()
    return newest.assign(each_l=newest["volume_l"] / newest["colonies"])[[*_GROUP, "each_l"]]


def tank_losses(samples: Samples) -> tuple[TankLoss, ...]:
    """A row for each day and tank that was gauged, then for each truck that was metered that day."""
    tank = ["day", "truck_id", "tank_id"]
    poured = frame(samples.poured, RealPour).groupby(tank)["volume_l"].sum()
    gauges: Any = frame(samples.gauges, Gauge).groupby(tank)["lost_l"].sum()
    meters: Any = frame(samples.meters, Metered).groupby(["day", "truck_id"])[["through_l", "noted_l"]].sum()
    found = [
        TankLoss(
            day, truck_id, tank_id, _litres(poured.get((day, truck_id, tank_id), 0.0)), _litres(lost_l), True
        )
        for (day, truck_id, tank_id), lost_l in gauges.items()
    ]
    found += [
        TankLoss(day, truck_id, "", _litres(noted_l), _litres(through_l - noted_l), False)
        for (day, truck_id), through_l, noted_l in meters.itertuples(name=None)
    ]
    return tuple(sorted(found, key=lambda row: (row.day, not row.gauged)))


def _litres(value: float) -> float:
    """To the millilitre."""
    return round(float(value), 3)
