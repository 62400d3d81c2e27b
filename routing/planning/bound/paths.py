"""Carry the cheapest relaxed rounds from step to step of time: the compiled part of ``rounds``.

A table has the least reduced cost by step of time, ng-state, and levels of the load used since the last call.
"""

from __future__ import annotations

from routing.planning.bound.model import FAR
from routing.planning.machine_code.jit import entry, jit
from routing.planning.machine_code.records import Floats, Ints, Records, record

ARC = record("source target steps calls way", "cost")
"""A move between ng-states: its steps of time, whether it calls at a depot, its way, its reduced cost."""


@entry
def extend(table: Floats, lowest: Floats, arcs: Records, taken: Ints, latest: Floats) -> None:
    """Fill a table in which the beginnings stand already.

    Parameters
    ----------
    table : array, [step, state, level]
        Least reduced costs, FAR where nothing comes.
    lowest : array, [step, state]
        The least over all levels; filled here.
    arcs : array of ARC
        All moves, by target.
    taken : array of int, [state]
        The levels that the state's visit takes.
    latest : array, [state]
        The last step at which it may be left.
    """
    steps, states, levels = table.shape
    for t in range(steps):
        for at in range(len(arcs)):
            arc = arcs[at]
            before, source, target = t - arc.steps, arc.source, arc.target
            if before < 0 or lowest[before, source] >= FAR / 2:
                continue
            take = taken[target]
            if arc.calls:
                reached = lowest[before, source] + arc.cost
                if reached < table[t, target, take]:
                    table[t, target, take] = reached
                continue
            for level in range(levels - take):
                reached = table[before, source, level] + arc.cost
                if reached < table[t, target, level + take]:
                    table[t, target, level + take] = reached
        for state in range(states):
            least = FAR
            for level in range(levels):
                if t > latest[state]:
                    table[t, state, level] = FAR
                least = min(least, table[t, state, level])
            lowest[t, state] = least


@entry
def complete(table: Floats, closing: Floats, first: Ints, width: int, column: Floats, ahead: Floats) -> None:
    """Fill ``ahead``: the completion bound of a label, the least of all before it and of closing.

    Closing costs no less the later it is, so that of two ways to a state the later and dearer is no good.

    Parameters
    ----------
    table : array, [step, state, level]
        As ``extend`` filled it.
    closing : array, [step]
        What closing costs; twice as many steps as in the table.
    first : array of int, [visit + 1]
        The first state of each visit.
    width : int
        The most visits in an ng-set.
    column : array, [met, level, step]
        To work in, for one visit.
    ahead : array, [step + 1, visit, met, level]
        By step after leaving the visit, by what of its ng-set has been met, and by the levels left for the
        visit and those before it. The last step is for what is too late and stays as it is.
    """
    levels, last = table.shape[2], ahead.shape[0] - 1
    for visit in range(len(first) - 1):
        masks = first[visit + 1] - first[visit]
        for mask in range(masks):
            # What a label has met leaves those states that remember none of it: the others of all.
            met = masks - 1 - mask
            for level in range(levels):
                for after in range(last):
                    column[met, level, after] = FAR
                _closed(table, first[visit] + mask, level, closing, column[met, level])
                if level:
                    _lower(column[met, level], column[met, level - 1])
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


@jit
def _closed(table: Floats, state: int, level: int, closing: Floats, least: Floats) -> None:
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


@jit
def _lower(row: Floats, other: Floats) -> None:
    """Lower a row to another where that is less."""
    for at in range(len(row)):
        if other[at] < row[at]:
            row[at] = other[at]
