"""Give up labels that another at the same visit beats in everything, compiled."""

from __future__ import annotations

import numpy as np

from routing.planning.bound.label_store import COST, GRAMS, LOAD, NODE, SECONDS
from routing.planning.machine_code.jit import kept

SLACK = 1e-6


@kept
def fined(fines, cuts):  # type: ignore[no-untyped-def]
    """What some cuts (as bits) cost."""
    total = 0.0
    for at in range(len(fines)):
        if (cuts >> np.uint64(at)) & np.uint64(1):
            total += fines[at]
    return total


@kept
def committed(ground, row, at):  # type: ignore[no-untyped-def]
    """Of a limited stock what must have been drawn there, wherever a label's load is still to come from."""
    parts = ground.takes.shape[1]
    drawn = row[LOAD + parts + at] - ground.level[at]
    for part in range(parts):
        drawn -= row[LOAD + part] * ground.spare[at, part]
    return drawn


@kept
def beaten(ground, prices, s, label):  # type: ignore[no-untyped-def]
    """Whether a label taken up before, at the same visit, is no worse in anything; else it joins those."""
    node, row, bits = s.who[label, NODE], s.number[label], s.bits[label]
    parts = ground.takes.shape[1]
    mine = np.empty(s.front.shape[2])
    mine[0], mine[1], mine[2] = row[COST], row[SECONDS], row[GRAMS]
    mine[3 : 2 + parts] = row[LOAD : LOAD + parts - 1]
    for i in range(len(ground.scarce)):
        mine[2 + parts + i] = committed(ground, row, ground.scarce[i])
    count = s.front_count[node]
    front, front_bits = s.front[node], s.front_bits[node]
    if _one_is_no_worse(front, front_bits, count, mine, bits, prices.fines):
        return True
    if count < len(front):
        front[count], front_bits[count] = mine, bits
        s.front_count[node] += 1
    return False


@kept
def _one_is_no_worse(front, front_bits, count, mine, bits, fines):  # type: ignore[no-untyped-def]
    """Whether one of the first rows is in nothing above mine, even fined for the cuts it is half in."""
    width, last = len(mine), len(bits) - 1
    for other in range(count):
        column = 0
        while column < width and front[other, column] <= mine[column] + SLACK:
            column += 1
        if column < width:
            continue
        word = 0
        while word < last and not front_bits[other, word] & ~bits[word]:
            word += 1
        if word < last:
            continue
        half = front_bits[other, last] & ~bits[last]
        if not half or front[other, 0] + fined(fines, half) <= mine[0] + SLACK:
            return True
    return False
