"""Grow labels, the ends of rounds, the lowest bound first: the compiled heart of ``labels``.

A label holds what matters of a round from reaching its visit on. Each is held against the least that the way
to it costs (its completion bound); as labels are taken up in the order of their bounds, those left open bound
all rounds at any time. A label that another at the same visit dominates is given up.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import cast

import numpy as np

from routing.planning.bound.dominance import SLACK, charged_for, committed, is_dominated
from routing.planning.bound.label_data import LabelData, LabelDuals
from routing.planning.bound.label_store import Store, lowest, order, pop, push
from routing.planning.bound.model import FAR, Hours, closing
from routing.planning.machine_code.jit import entry, jit
from routing.planning.machine_code.records import Floats

BEGIN = 0
EXTEND = 1
ORDER = 2
LOWEST = 3

_closing = cast(Callable[[Hours, float], float], jit(closing))


@entry
def run(data: LabelData, duals: LabelDuals, store: Store, task: int, count: int, value: float) -> float:
    """Do a task; its answer, 0 where it has none.

    BEGIN anew; only labels whose bound is below ``value`` are followed. EXTEND so many open labels: 0 when
    nothing is left that may cost less than what is found. ORDER the open labels, with ``value`` as eagerness.
    LOWEST: the least reduced cost that any round has as far as is known.
    """
    if task == BEGIN:
        _begin(data, duals, store, value)
    elif task == EXTEND:
        return 1.0 if _extend(data, duals, store, count) else 0.0
    elif task == ORDER:
        order(store, value)
    elif task == LOWEST:
        return lowest(store)
    return 0.0


@jit
def _begin(data: LabelData, duals: LabelDuals, store: Store, threshold: float) -> None:
    """A label for each visit as the last."""
    state = store.state[0]
    state.least, state.dropped, state.goal = threshold, FAR, threshold
    state.open, state.count, state.found = 0, 0, 0
    for visit in range(len(data.visits)):
        store.front_count[visit] = 0
    late, full = duals.completion.shape[0] - 1, duals.completion.shape[3] - 1
    for visit in range(len(data.visits)):
        home, new = data.visits[visit], state.count
        step = min(int(home.home_s / duals.step_s), late)
        bound = home.home_money + duals.completion[step, visit, 0, full]
        for part in range(len(data.parts)):
            store.load[new, part] = data.takes[visit, part]
        if bound < threshold - SLACK and _fits(data, visit, store.load[new]):
            label = store.labels[new]
            label.seconds, label.money, label.bound, label.charged = home.home_s, home.home_money, bound, 0.0
            label.visit, label.parent, label.served = visit, -1, 1
            label.levels = duals.visits[visit].levels
            for stock in range(len(data.stocks)):
                store.drawn[new, stock] = 0.0
            for word in range(store.bits.shape[1]):
                store.bits[new, word] = np.uint64(0)
            _add(data, duals, store)


@jit
def _extend(data: LabelData, duals: LabelDuals, store: Store, count: int) -> bool:
    """Take up so many open labels; False when nothing is left that may cost less than what is found."""
    for _ in range(count):
        if store.state[0].open == 0:
            return False
        label = pop(store)
        cheap = store.labels[label].bound < store.state[0].least - SLACK
        if cheap and not is_dominated(data, duals, store, label):
            _finish(data, duals, store, label)
            _grow(data, duals, store, label)
    return bool(store.state[0].open > 0)


@jit
def _fits(data: LabelData, visit: int, load: Floats) -> bool:
    """Whether a truck may come to a visit with a load."""
    tanks_ml, mass_g = 0.0, 0.0
    for part in range(len(data.parts)):
        if load[part] > data.parts[part].most + SLACK:
            return False
        if part < len(data.parts) - 2:
            tanks_ml += load[part]
        mass_g += load[part] * data.parts[part].grams
    return tanks_ml <= data.tanks_ml + SLACK and mass_g <= data.visits[visit].gate_g


@jit
def _add(data: LabelData, duals: LabelDuals, store: Store) -> None:
    """Complete the label after the last in the store, and put it among the open ones."""
    new, words = store.state[0].count, store.bits.shape[1] - 1
    label = store.labels[new]
    visit = label.visit
    grams, cost = 0.0, label.money
    for part in range(len(data.parts)):
        grams += store.load[new, part] * data.parts[part].grams
    for stock in range(len(data.stocks)):
        cost += committed(data, store, new, stock) * duals.stocks[stock]
    label.grams, label.cost = grams, cost
    store.bits[new, visit >> 6] |= np.uint64(1) << np.uint64(visit & 63)
    store.bits[new, words] ^= duals.visits[visit].cuts
    store.key[new] = label.bound
    push(store, new)
    store.state[0].count += 1


@jit
def _leave(data: LabelData, store: Store, label: int, way: int) -> float:
    """Fill ``store.left``, what a call does not give of a label's load; its mass."""
    left_g = 0.0
    for part in range(len(data.parts)):
        store.left[part] = store.load[label, part] * (1.0 - data.way_parts[way, part].given)
        left_g += store.left[part] * data.parts[part].grams
    return left_g


@jit
def _draw(data: LabelData, store: Store, label: int, way: int, first: bool) -> None:
    """Fill ``store.drawing``: shares drawn of limited stocks, before a label's visit is reached by a way.

    What the call gives may be had elsewhere; so may what is left, where the way begins the round.
    """
    visit = store.labels[label].visit
    for stock in range(len(data.stocks)):
        drawn = store.drawn[label, stock] + data.share[visit, stock]
        having = data.way_stocks[way, stock]
        away = having.away if first else 0.0
        for part in range(len(data.parts)):
            given = store.load[label, part] - store.left[part]
            drawn -= data.spare[stock, part] * (given * having.elsewhere + store.left[part] * away)
        store.drawing[stock] = drawn


@jit
def _finish(data: LabelData, duals: LabelDuals, store: Store, label: int) -> None:
    """Begin a round with a label's visit, the cheapest way."""
    row, state = store.labels[label], store.state[0]
    visit, room = row.visit, state.found < len(store.rounds)
    base = row.money - data.visits[visit].carry - duals.visits[visit].visit
    best = FAR
    for way in range(len(data.first_arcs)):
        left_g = _leave(data, store, label, way)
        _draw(data, store, label, way, True)
        if not _may_begin(data, store, way):
            continue
        arc = data.first_arcs[way, visit]
        cost = base + arc.money + _closing(data.hours, row.seconds + arc.seconds)
        cost += data.per_g_m * (arc.before_m * left_g + arc.onward_m * row.grams)
        for stock in range(len(data.stocks)):
            cost += (store.drawing[stock] - data.stocks[stock].level) * duals.stocks[stock]
        if cost < best:
            best = cost
            for stock in range(len(data.stocks)):
                if room:
                    share = store.drawing[stock] - data.stocks[stock].level
                    store.rounds_drawn[state.found, stock] = share
    state.least = min(state.least, best)
    if best < state.goal - SLACK and room:
        store.rounds[state.found].label, store.rounds[state.found].cost = label, best
        state.found += 1


@jit
def _may_begin(data: LabelData, store: Store, way: int) -> bool:
    """Whether a round may leave the start with what is left, and draws no more than a scarce stock holds."""
    for part in range(len(data.parts)):
        if store.left[part] > data.way_parts[way, part].start_most + SLACK:
            return False
    for stock in range(len(data.stocks)):
        drawn = store.drawing[stock] - data.stocks[stock].level
        if data.stocks[stock].scarce and drawn > 1.0 + SLACK:
            return False
    return True


@jit
def _grow(data: LabelData, duals: LabelDuals, store: Store, label: int) -> None:
    """Add all labels with one visit more before this one that may lead to less than what is found."""
    _look_back(data, duals, store, label)
    for way in range(len(data.arcs)):
        left_g = _leave(data, store, label, way)
        if way > 0 and _gives_nothing(data, store, label):
            continue
        _draw(data, store, label, way, False)
        if _in_stock(data, store):
            _reach(data, duals, store, label, way, left_g)


@jit
def _gives_nothing(data: LabelData, store: Store, label: int) -> bool:
    """Whether a call gives nothing of a load."""
    same = True
    for part in range(len(data.parts)):
        same = same and bool(store.left[part] == store.load[label, part])
    return same


@jit
def _in_stock(data: LabelData, store: Store) -> bool:
    """Whether no scarce stock is surely overdrawn, wherever what is left is still to come from."""
    for stock in range(len(data.stocks)):
        if data.stocks[stock].scarce:
            sure = store.drawing[stock] - data.stocks[stock].level
            for part in range(len(data.parts)):
                sure -= store.left[part] * data.spare[stock, part]
            if sure > 1.0 + SLACK:
                return False
    return True


@jit
def _look_back(data: LabelData, duals: LabelDuals, store: Store, label: int) -> None:
    """Fill ``store.met``."""
    for visit in range(len(data.visits)):
        if _has_met(store, label, visit):
            store.met[visit] = -1
            continue
        met = 0
        for at in range(duals.ng_sets.shape[1]):
            other = duals.ng_sets[visit, at]
            if other >= 0 and _has_met(store, label, other):
                met |= 1 << at
        store.met[visit] = met


@jit
def _has_met(store: Store, label: int, visit: int) -> bool:
    return bool((store.bits[label, visit >> 6] >> np.uint64(visit & 63)) & np.uint64(1))


@jit
def _reach(data: LabelData, duals: LabelDuals, store: Store, label: int, way: int, left_g: float) -> None:
    """Add the labels that come to this one by one way."""
    row, state, words = store.labels[label], store.state[0], store.bits.shape[1] - 1
    visit, odd = row.visit, store.bits[label, words]
    levels = row.levels if way == 0 else 0
    space = duals.completion.shape[3] - 1 - levels
    late_s = (duals.completion.shape[0] - 1) * duals.step_s
    base = row.money - data.visits[visit].carry - duals.visits[visit].visit
    base += data.per_g_m * data.first_arcs[way, visit].onward_m * row.grams
    charged = row.charged + duals.visits[visit].resources - duals.gained[way]
    extra = charged
    for stock in range(len(data.stocks)):
        extra += store.drawing[stock] * duals.stocks[stock]
    for other in range(len(data.visits)):
        arc = data.arcs[way, visit, other]
        seconds = row.seconds + arc.seconds
        if store.met[other] < 0 or seconds >= late_s:
            continue
        money = base + arc.money + data.per_g_m * arc.before_m * left_g
        bound = money + extra + left_g * data.visits[other].carried
        bound += duals.completion[int(seconds / duals.step_s), other, store.met[other], space]
        if bound >= state.least - SLACK:
            continue
        halves = charged_for(duals.cuts, odd & duals.visits[other].cuts)
        bound = max(row.bound, bound + halves)
        for part in range(len(data.parts)):
            store.whole[part] = store.left[part] + data.takes[other, part]
        if bound >= state.least - SLACK or not _fits(data, other, store.whole):
            continue
        if state.count >= len(store.labels):
            state.dropped = min(state.dropped, bound)
            continue
        new = state.count
        put = store.labels[new]
        put.seconds, put.money, put.charged, put.bound = seconds, money + halves, charged, bound
        put.visit, put.parent, put.served = other, label, row.served + 1
        put.levels = levels + duals.visits[other].levels
        for part in range(len(data.parts)):
            store.load[new, part] = store.whole[part]
        for stock in range(len(data.stocks)):
            store.drawn[new, stock] = store.drawing[stock]
        for word in range(words):
            store.bits[new, word] = store.bits[label, word] & data.ng_words[other, word]
        store.bits[new, words] = odd
        _add(data, duals, store)
