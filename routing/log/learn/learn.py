"""Hold what happened against what was planned, over many days, with estimates a few slips cannot sway."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

import pandas as pd

from routing.domain.operation import Operation
from routing.domain.plan import Plan
from routing.log.corrections import in_force
from routing.log.events import Event
from routing.log.fold.fold import Fold, replay
from routing.log.learn.measured import TankLoss, handlings, pours, tank_losses
from routing.log.learn.samples import Samples, samples_of

ENOUGH = 5
"""Fewer samples than this are shown, but nothing is proposed from them (a choice)."""

SIGMA_PER_MAD = 1.4826
"""The median absolute deviation of a normal distribution times this is its standard deviation."""


@dataclass(frozen=True)
class Spread:
    """Samples in three numbers: how many, their median, and the median absolute deviation from it."""

    count: int
    median: float
    mad: float

    @property
    def few(self) -> bool:
        """Whether they are too few to go by."""
        return self.count < ENOUGH


def spread(values: Sequence[float] | pd.Series[float]) -> Spread:
    """The spread of samples, missing ones left out; of none, zeros."""
    known = pd.Series(values, dtype="float64").dropna()
    if known.empty:
        return Spread(0, 0.0, 0.0)
    middle = known.median()
    return Spread(len(known), round(float(middle), 6), round(float((known - middle).abs().median()), 6))


@dataclass(frozen=True)
class Lesson:
    """One thing measured. ``what``: ``pour`` (share of the plan), ``handling`` (s a colony), ``road``

    (time as a share of the plan), ``wash`` (s), ``loss`` (share of what was poured, unexplained).
    ``of``: the feeder, or truck; ``crew``: people on the truck where it matters; ``truck_id``: where several
    trucks can be told apart.
    """

    what: str
    of: str
    spread: Spread
    planned: float | None = None
    crew: int | None = None
    truck_id: str = ""


@dataclass(frozen=True)
class Proposal:
    """A new value for a setting, in SI. ``row``: the feeder in whose row of feeders.csv it stands; else it
    stands in operation.toml.
    """

    key: str
    now: float
    proposed: float
    spread: Spread
    why: str
    row: str = ""


@dataclass(frozen=True)
class Lessons:
    """All that the log teaches. ``tanks``: a row for each truck, tank and day that was gauged or metered."""

    days: tuple[date, ...]
    lessons: tuple[Lesson, ...]
    tanks: tuple[TankLoss, ...]
    proposals: tuple[Proposal, ...]


def learn(operation: Operation, events: Iterable[Event], plans: Mapping[str, Plan]) -> Lessons:
    """What the days of a log teach. Pours noted "as planned" teach nothing about pours, and are left out."""
    told = in_force(events)
    days = tuple(sorted({event.day for event in told}))
    samples = Samples()
    for day in days:
        here = tuple(event for event in told if event.day == day)
        fold: Fold = replay(operation, plans, here, max(event.at for event in here))
        samples_of(operation, fold, here, plans, samples)
    losses = tank_losses(samples)
    return Lessons(days, tuple(_lessons(operation, samples, losses)), losses, _proposals(operation, samples))


def _lessons(operation: Operation, samples: Samples, losses: Sequence[TankLoss]) -> Iterable[Lesson]:
    for feeder_id, shares in pours(samples).groupby("feeder_id")["share"]:
        yield Lesson("pour", str(feeder_id), spread(shares), 1.0)
    yield from _handling_lessons(operation, handlings(samples))
    if samples.drives:
        yield Lesson("road", "all", spread([drive.share for drive in samples.drives]), 1.0)
    if samples.wash_s:
        yield Lesson("wash", "all", spread(samples.wash_s), float(operation.work.wash_s))
    lost = [row.lost_l / row.poured_l for row in losses if row.gauged and row.poured_l > 0]
    if lost:
        yield Lesson("loss", "all", spread(lost), 0.0)


def _handling_lessons(operation: Operation, handled: pd.DataFrame) -> Iterable[Lesson]:
    """By feeder and crew; and by feeder and truck where several trucks have enough samples."""
    by_crew: Any = handled.groupby(["feeder_id", "crew"])["each_s"]
    for (feeder_id, crew), seconds in by_crew:
        feeder = operation.feeders.get(feeder_id)
        planned = feeder.service_s if feeder else None
        yield Lesson("handling", feeder_id, spread(seconds), planned, int(crew))
    counted = handled.groupby(["feeder_id", "truck_id"])["each_s"].transform("size")
    sure = handled[(counted >= ENOUGH) & handled["feeder_id"].isin(operation.feeders)]
    for feeder_id, of_feeder in sure.groupby("feeder_id"):
        planned = operation.feeders[str(feeder_id)].service_s
        for truck_id, seconds in of_feeder.groupby("truck_id")["each_s"]:
            if of_feeder["truck_id"].nunique() > 1:
                yield Lesson("handling", str(feeder_id), spread(seconds), planned, None, str(truck_id))


def _proposals(operation: Operation, samples: Samples) -> tuple[Proposal, ...]:
    found: list[Proposal] = []
    speeds = spread([drive.speed_km_per_h for drive in samples.drives])
    if operation.travel.method == "straight" and not speeds.few:
        now = operation.travel.speed_km_per_h
        proposed = round(min(130.0, max(5.0, speeds.median)), 1)
        found.append(Proposal("travel.speed_km_per_h", now, proposed, speeds, "the legs driven as planned"))
    daily = pours(samples).groupby(["day", "truck_id"])[["poured_l", "planned_l"]].sum()
    days = spread(daily["poured_l"] / daily["planned_l"])
    if not days.few:
        need = days.median - 1 + SIGMA_PER_MAD * days.mad
        proposed = round(min(0.5, max(0.0, need)), 3)
        why = "poured against planned, truck by truck and day by day: enough on five days of six"
        found.append(Proposal("feeding.margin", operation.feeding.margin, proposed, days, why))
    wash = spread(samples.wash_s)
    if not wash.few:
        now = float(operation.work.wash_s)
        proposed = float(max(60, 60 * round(wash.median / 60)))
        found.append(Proposal("work.wash_s", now, proposed, wash, "from arriving to washed"))
    handled = handlings(samples)
    for feeder_id, feeder in operation.feeders.items():
        taken = spread(handled.loc[handled["feeder_id"] == feeder_id, "each_s"])
        if not taken.few:
            why = "visits less the set-up time of the yard"
            # Whole seconds; a feeder is not filled in none.
            proposed = float(max(1, round(taken.median)))
            found.append(Proposal("service_s", feeder.service_s, proposed, taken, why, feeder_id))
    return tuple(found)
