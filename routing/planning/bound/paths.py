"""Carry the cheapest relaxed rounds from step to step of time: the compiled part of ``bound_rounds``.

A table has the least cost by step of time, state of memory, and levels of the load used since the last call.
"""

from __future__ import annotations

import numpy as np

from routing.planning.bound.numbers import FAR
from routing.planning.machine_code.jit import kept


@kept
def carry(table, low, arc_from, arc_to, arc_t, arc_cost, arc_call, taken, shut):  # type: ignore[no-untyped-def]
    """Fill a table in which what begins stands already, and ``low``, the least over all levels.

    ``taken`` are the levels that each state's visit takes, ``shut`` the last step at which it may be left.
    """
    steps, states, levels = table.shape
    for t in range(steps):
        for arc in range(len(arc_from)):
            before = t - arc_t[arc]
            if before < 0:
                continue
            source, target, cost = arc_from[arc], arc_to[arc], arc_cost[arc]
            if low[before, source] >= FAR / 2:
                continue
            take = taken[target]
            if arc_call[arc]:
                reached = low[before, source] + cost
                if reached < table[t, target, take]:
                    table[t, target, take] = reached
                continue
            old, new = table[before, source], table[t, target]
            for level in range(levels - take):
                reached = old[level] + cost
                if reached < new[level + take]:
                    new[level + take] = reached
        for state in range(states):
            if t > shut[state]:
                table[t, state] = FAR
            low[t, state] = table[t, state].min()


@kept
def onward(table, closing, first, width, ahead):  # type: ignore[no-untyped-def]
    """The least of all before a label and of closing, by step after leaving, visit, visits met, levels left.

    Closing costs no less the later it is, so that of two ways to a state the later and dearer is no good.
    """
    levels, last = table.shape[2], ahead.shape[0] - 1
    for visit in range(len(first) - 1):
        masks = first[visit + 1] - first[visit]
        column = np.full((masks, levels, last), FAR)
        for mask in range(masks):
            for level in range(levels):
                # What a label has met leaves those that remember none of it: the others of all.
                _closed(table, first[visit] + mask, level, closing, column[masks - 1 - mask, level])
                if level:
                    _lower(column[masks - 1 - mask, level], column[masks - 1 - mask, level - 1])
        for bit in range(width):
            for mask in range(masks):
                more = mask | (1 << bit)
                if mask < more < masks:
                    for level in range(levels):
                        _lower(column[mask, level], column[more, level])
        for after in range(last):
            for mask in range(masks):
                for level in range(levels):
                    ahead[after, visit, mask, level] = column[mask, level, after]


@kept
def _closed(table, state, level, closing, least):  # type: ignore[no-untyped-def]
    """By step after leaving a state: the least of coming there and of closing."""
    low = FAR / 2
    for t in range(table.shape[0]):
        reached = table[t, state, level]
        if reached < low:
            low = reached
            for after in range(len(least)):
                cost = reached + closing[after + t]
                if cost < least[after]:
                    least[after] = cost


@kept
def _lower(row, other):  # type: ignore[no-untyped-def]
    """Lower a row to another where that is less."""
    for at in range(len(row)):
        if other[at] < row[at]:
            row[at] = other[at]
