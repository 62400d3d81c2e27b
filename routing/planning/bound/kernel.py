"""Grow labels, the ends of rounds, the lowest bound first: the compiled heart of ``bound_labels``.

A label holds what matters of a round from reaching its visit on. Each is held against what the way to it
costs at the least; as labels are taken up in the order of what they may lead to, those left open bound all
rounds at any time. Of two labels at one visit the one that is better in nothing is given up.
"""

from __future__ import annotations

import numpy as np

from routing.planning.bound.dominance import SLACK, beaten, committed, fined
from routing.planning.bound.heap import pop, push
from routing.planning.bound.label_store import (
    BOUND,
    COST,
    COUNT,
    DEPTH,
    DROPPED,
    FOUND,
    GOAL,
    GRAMS,
    LEAST,
    LEVELS,
    LOAD,
    MONEY,
    NODE,
    OPEN,
    PARENT,
    SECONDS,
    TIED,
)
from routing.planning.bound.numbers import FAR
from routing.planning.machine_code.jit import kept


@kept
def begin(ground, prices, s, threshold):  # type: ignore[no-untyped-def]
    """Start anew, with every visit as the last; only what is below ``threshold`` is followed."""
    s.values[LEAST], s.values[DROPPED], s.values[GOAL] = threshold, FAR, threshold
    s.counts[:] = 0
    s.front_count[:] = 0
    most = prices.ahead.shape[3] - 1
    for node in range(len(ground.home_s)):
        step = min(int(ground.home_s[node] / prices.step_s), prices.ahead.shape[0] - 1)
        bound = ground.home_money[node] + prices.ahead[step, node, 0, most]
        load, new = ground.takes[node], s.counts[COUNT]
        fits = _fits(ground.most, ground.grams, ground.tanks_ml, ground.gate_g[node], load)
        if fits and bound < threshold - SLACK:
            row = s.number[new]
            row[:] = 0.0
            row[SECONDS], row[MONEY], row[BOUND] = ground.home_s[node], ground.home_money[node], bound
            row[LOAD : LOAD + len(load)] = load
            s.bits[new] = np.uint64(0)
            s.who[new, NODE], s.who[new, PARENT], s.who[new, DEPTH] = node, -1, 1
            s.who[new, LEVELS] = prices.taken[node]
            _put(ground, prices, s, new)


@kept
def advance(ground, prices, s, count):  # type: ignore[no-untyped-def]
    """Take up so many open labels; False when nothing is left that may cost less than what is found."""
    for _ in range(count):
        if s.counts[OPEN] == 0:
            return False
        label = pop(s)
        if s.number[label, BOUND] < s.values[LEAST] - SLACK and not beaten(ground, prices, s, label):
            _finish(ground, prices, s, label)
            _grow(ground, prices, s, label)
    return s.counts[OPEN] > 0


@kept
def closing(clock, seconds):  # type: ignore[no-untyped-def]
    """What ends a round that keeps its crew busy for so long; as ``TruckModel.closing``."""
    longest_s, credit_s, tired_s, after_s, break_s = clock[0], clock[1], clock[2], clock[3], clock[4]
    ordinary_s, per_s, over_per_s, money = clock[5], clock[6], clock[7], clock[8]
    busy = max(0.0, seconds - credit_s)
    rests = 0.0
    if break_s > 0.0:
        rests = max(0.0, np.ceil((busy + tired_s - 1e-6) / after_s) - 1.0) * break_s
    work = busy + rests
    if work > longest_s + 1e-6:
        return FAR
    return money + rests * per_s + max(0.0, work - ordinary_s) * over_per_s


@kept
def _fits(most, grams, tanks_ml, gate_g, load):  # type: ignore[no-untyped-def]
    """Whether a truck may come to a visit with a load."""
    tanks, mass_g = 0.0, 0.0
    for part in range(len(load)):
        if load[part] > most[part] + SLACK:
            return False
        if part < len(load) - 2:
            tanks += load[part]
        mass_g += load[part] * grams[part]
    return tanks <= tanks_ml + SLACK and mass_g <= gate_g


@kept
def _put(ground, prices, s, label):  # type: ignore[no-untyped-def]
    """Complete a label (the last in the store) and put it among the open ones."""
    row, node, words = s.number[label], s.who[label, NODE], s.bits.shape[1] - 1
    grams, cost = 0.0, row[MONEY]
    for part in range(ground.takes.shape[1]):
        grams += row[LOAD + part] * ground.grams[part]
    for at in range(len(ground.level)):
        cost += committed(ground, row, at) * prices.stock[at]
    row[GRAMS], row[COST] = grams, cost
    s.bits[label, node >> 6] |= np.uint64(1) << np.uint64(node & 63)
    s.bits[label, words] ^= prices.cuts_of[node]
    s.key[label] = row[BOUND]
    push(s.heap, s.key, label, s.counts[OPEN])
    s.counts[OPEN] += 1
    s.counts[COUNT] += 1


@kept
def _left(ground, way, row, left):  # type: ignore[no-untyped-def]
    """What a call does not give of a load (``left``, filled here), and its grams."""
    left_g = 0.0
    for part in range(len(left)):
        left[part] = row[LOAD + part] * (1.0 - ground.gives[way, part])
        left_g += left[part] * ground.grams[part]
    return left_g


@kept
def _drawn(ground, way, on, row, left, away, drawn):  # type: ignore[no-untyped-def]
    """Shares drawn of limited stocks, before a visit is reached by a way (``drawn``, filled here).

    What the call gives may be had elsewhere; so may what is left, where it is ``away``.
    """
    parts = len(left)
    for at in range(len(drawn)):
        drawn[at] = row[LOAD + parts + at] + ground.share[on, at]
        for part in range(parts):
            given = row[LOAD + part] - left[part]
            drawn[at] -= ground.spare[at, part] * (given * ground.elsewhere[way, at] + left[part] * away[at])


@kept
def _finish(ground, prices, s, label):  # type: ignore[no-untyped-def]
    """Begin a round with the label's visit, the cheapest way."""
    on, row = s.who[label, NODE], s.number[label]
    parts, stocks = ground.takes.shape[1], len(ground.level)
    base = row[MONEY] - ground.carry[on] - prices.worth[on]
    best, left, drawn, least = FAR, np.empty(parts), np.empty(stocks), np.zeros(stocks)
    for way in range(ground.away_s.shape[0]):
        left_g = _left(ground, way, row, left)
        _drawn(ground, way, on, row, left, ground.away[way], drawn)
        fits = True
        for part in range(parts):
            fits = fits and left[part] <= ground.away_most[way, part] + SLACK
        for i in range(len(ground.scarce)):
            at = ground.scarce[i]
            fits = fits and drawn[at] - ground.level[at] <= 1.0 + SLACK
        if not fits:
            continue
        cost = base + ground.away_money[way, on]
        cost += closing(ground.clock, row[SECONDS] + ground.away_s[way, on])
        cost += ground.per_g_m * (ground.away_m[way, on] * left_g + ground.onward_m[way, on] * row[GRAMS])
        for at in range(stocks):
            cost += (drawn[at] - ground.level[at]) * prices.stock[at]
        if cost < best:
            best = cost
            least[:] = drawn - ground.level
    s.values[LEAST] = min(s.values[LEAST], best)
    at = s.counts[FOUND]
    if best < s.values[GOAL] - SLACK and at < len(s.found):
        s.found[at], s.found_number[at, 0], s.found_number[at, 1:] = label, best, least
        s.counts[FOUND] += 1


@kept
def _grow(ground, prices, s, label):  # type: ignore[no-untyped-def]
    """Add all labels with one visit more before this one that may lead to less than what is found."""
    on, row = s.who[label, NODE], s.number[label]
    parts, stocks = ground.takes.shape[1], len(ground.level)
    near = _met_near(prices.near, s.bits[label])
    left, drawn, nowhere = np.empty(parts), np.empty(stocks), np.zeros(stocks)
    for way in range(ground.seconds.shape[0]):
        left_g = _left(ground, way, row, left)
        if way > 0 and _same(left, row):
            continue
        _drawn(ground, way, on, row, left, nowhere, drawn)
        stocked = True
        for i in range(len(ground.scarce)):
            at = ground.scarce[i]
            sure = drawn[at] - ground.level[at]
            for part in range(parts):
                sure -= left[part] * ground.spare[at, part]
            stocked = stocked and sure <= 1.0 + SLACK
        if stocked:
            _reach(ground, prices, s, label, way, near, left, left_g, drawn)


@kept
def _same(left, row):  # type: ignore[no-untyped-def]
    """Whether a call gives nothing of a load."""
    same = True
    for part in range(len(left)):
        same = same and left[part] == row[LOAD + part]
    return same


@kept
def _met_near(near, bits):  # type: ignore[no-untyped-def]
    """For each visit which of those near it a label has met, as a number; -1 where itself has been met."""
    found = np.full(len(near), -1)
    for node in range(len(near)):
        if (bits[node >> 6] >> np.uint64(node & 63)) & np.uint64(1):
            continue
        found[node] = 0
        for at in range(near.shape[1]):
            v = near[node, at]
            if v >= 0 and (bits[v >> 6] >> np.uint64(v & 63)) & np.uint64(1):
                found[node] |= 1 << at
    return found


@kept
def _reach(ground, prices, s, label, way, near, left, left_g, drawn):  # type: ignore[no-untyped-def]
    """Add the labels that come to this one by one way."""
    on, row, ahead = s.who[label, NODE], s.number[label], prices.ahead
    parts, stocks = len(left), len(drawn)
    levels = s.who[label, LEVELS] if way == 0 else 0
    space, late_s = ahead.shape[3] - 1 - levels, (ahead.shape[0] - 1) * prices.step_s
    base = row[MONEY] - ground.carry[on] - prices.worth[on]
    base += ground.per_g_m * ground.onward_m[way, on] * row[GRAMS]
    tied = row[TIED] + prices.asked[on] - prices.gained[way]
    extra, odd, whole = tied, s.bits[label, -1], np.empty(parts)
    for at in range(stocks):
        extra += drawn[at] * prices.stock[at]
    for node in range(len(near)):
        seconds = row[SECONDS] + ground.seconds[way, on, node]
        if near[node] < 0 or seconds >= late_s:
            continue
        money = base + ground.money[way, on, node] + ground.per_g_m * ground.before_m[way, on, node] * left_g
        bound = money + extra + left_g * ground.carried[node]
        bound += ahead[int(seconds / prices.step_s), node, near[node], space]
        if bound >= s.values[LEAST] - SLACK:
            continue
        fine = fined(prices.fines, odd & prices.cuts_of[node])
        bound = max(row[BOUND], bound + fine)
        whole[:] = left + ground.takes[node]
        if bound >= s.values[LEAST] - SLACK:
            continue
        if not _fits(ground.most, ground.grams, ground.tanks_ml, ground.gate_g[node], whole):
            continue
        new = s.counts[COUNT]
        if new >= len(s.key):
            s.values[DROPPED] = min(s.values[DROPPED], bound)
            continue
        number, who = s.number[new], s.who[new]
        number[SECONDS], number[MONEY], number[TIED], number[BOUND] = seconds, money + fine, tied, bound
        number[LOAD : LOAD + parts], number[LOAD + parts :] = whole, drawn
        who[NODE], who[PARENT], who[DEPTH] = node, label, s.who[label, DEPTH] + 1
        who[LEVELS] = levels + prices.taken[node]
        s.bits[new, :-1] = s.bits[label, :-1] & ground.keep[node]
        s.bits[new, -1] = odd
        _put(ground, prices, s, new)
