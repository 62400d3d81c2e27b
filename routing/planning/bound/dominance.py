"""Tell which labels are dominated: another at the same visit is no worse in anything."""

from __future__ import annotations

import numpy as np

from routing.planning.bound.label_data import LabelData, LabelDuals
from routing.planning.bound.label_store import Store
from routing.planning.machine_code.jit import jit
from routing.planning.machine_code.records import Floats

SLACK = 1e-6


@jit
def charged_for(cut_duals: Floats, cuts: int) -> float:
    """The duals of some cuts (as bits)."""
    total = 0.0
    for at in range(len(cut_duals)):
        if (cuts >> np.uint64(at)) & np.uint64(1):
            total += cut_duals[at]
    return total


@jit
def committed(data: LabelData, store: Store, label: int, stock: int) -> float:
    """The share of a stock that must have been drawn there, wherever a label's load is still to come from."""
    drawn = float(store.drawn[label, stock] - data.stocks[stock].level)
    for part in range(len(data.parts)):
        drawn -= store.load[label, part] * data.spare[stock, part]
    return drawn


@jit
def is_dominated(data: LabelData, duals: LabelDuals, store: Store, label: int) -> bool:
    """Whether a label taken up before, at the same visit, dominates a label; else it joins those."""
    _compare_by(data, store, label)
    visit, words = store.labels[label].visit, store.bits.shape[1]
    count = store.front_count[visit]
    for row in range(count):
        if _dominates(duals, store, visit, row, label):
            return True
    if count < store.front.shape[1]:
        for at in range(len(store.criteria)):
            store.front[visit, count, at] = store.criteria[at]
        for word in range(words):
            store.front_bits[visit, count, word] = store.bits[label, word]
        store.front_count[visit] += 1
    return False


@jit
def _compare_by(data: LabelData, store: Store, label: int) -> None:
    """Fill ``store.criteria``: reduced cost, seconds, mass, load by part (not its mass), scarce stocks."""
    row, criteria = store.labels[label], store.criteria
    criteria[0], criteria[1], criteria[2] = row.cost, row.seconds, row.grams
    at = 3
    for part in range(len(data.parts) - 1):
        criteria[at] = store.load[label, part]
        at += 1
    for stock in range(len(data.stocks)):
        if data.stocks[stock].scarce:
            criteria[at] = committed(data, store, label, stock)
            at += 1


@jit
def _dominates(duals: LabelDuals, store: Store, visit: int, row: int, label: int) -> bool:
    """Whether a row of the front is nowhere above ``store.criteria``, even charged for cuts it is half in."""
    for at in range(len(store.criteria)):
        if store.front[visit, row, at] > store.criteria[at] + SLACK:
            return False
    last = store.bits.shape[1] - 1
    for word in range(last):
        if store.front_bits[visit, row, word] & ~store.bits[label, word]:
            return False
    half = store.front_bits[visit, row, last] & ~store.bits[label, last]
    if not half:
        return True
    return bool(store.front[visit, row, 0] + charged_for(duals.cuts, half) <= store.criteria[0] + SLACK)
