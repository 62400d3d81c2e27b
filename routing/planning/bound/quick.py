"""Bound a day's price at once: every visit costs at least half of its cheapest ways in and out."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from routing.planning.bound.model import TruckModel
from routing.planning.bound.numbers import FAR, Floats


def quick_bound(models: Sequence[TruckModel], prices: Floats) -> tuple[float, Floats]:
    """Each visit at what it costs at the least with any truck, or at the price of leaving it; and the sum."""
    least = prices.copy()
    spared = 0.0
    for model in models:
        spared += model.count * max(0.0, model.spared)
        if model.visits:
            at = list(model.visits)
            least[at] = np.minimum(least[at], _shares(model))
    return float(least.sum() - spared), least


def _shares(model: TruckModel) -> Floats:
    """Half of the cheapest way to each visit and of the cheapest way on, and the visit itself."""
    between = np.minimum.reduce([way.money for way in model.ways])
    between = np.where(between >= FAR, FAR, between - model.standing)
    onward = between[:-1].min(axis=1)
    return np.asarray((between.min(axis=0) + np.minimum(onward, model.home_money)) / 2 + model.standing)
