"""Keep labels, the ends of rounds, as columns of numbers that compiled code may work on."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from routing.planning.bound.numbers import Floats, Ints, Words

# Columns of a label's numbers; what must be aboard follows, then the shares drawn of limited stocks.
SECONDS, MONEY, TIED, COST, GRAMS, BOUND, LOAD = range(7)
# Columns of what a label is: its visit, the label it was grown from, how many visits it serves,
# and how many levels of the load its visits take before the next call.
NODE, PARENT, DEPTH, LEVELS = range(4)
# Single numbers that change: the least cost found, the lowest bound given up for want of room, and what
# rounds must be below to be kept; how many labels are open, there are, and rounds found.
LEAST, DROPPED, GOAL = range(3)
OPEN, COUNT, FOUND = range(3)


class Ground(NamedTuple):
    """What the labels of a truck model rest on (``bound_cargo``, ``bound_model``), by way, from and to.

    Way 0 is without a call; the others call at depots, which give the parts of a load in ``gives``. What a
    call gives is carried over ``onward_m`` alone, the rest over ``before_m`` too. ``away_s``, ``away_money``
    and ``away_m`` are from the start, by way and to; the last way there is without loading. ``away_most`` is
    what may come from the start. ``share`` is what visits draw of each limited stock, ``spare`` what one of
    each part of a load may draw; it may be had from another depot where ``elsewhere`` says so, and ``away``
    for what comes from the start. ``clock`` is for ``closing``.
    """

    seconds: Floats
    money: Floats
    before_m: Floats
    onward_m: Floats
    gives: Floats
    elsewhere: Floats
    away_s: Floats
    away_money: Floats
    away_m: Floats
    away_most: Floats
    away: Floats
    home_s: Floats
    home_money: Floats
    takes: Floats
    grams: Floats
    most: Floats
    tanks_ml: float
    gate_g: Floats
    carry: Floats
    carried: Floats
    per_g_m: float
    share: Floats
    spare: Floats
    level: Floats
    scarce: Ints
    keep: Words
    clock: Floats


class Prices(NamedTuple):
    """What is asked and paid for visits, calls, stocks and cuts; and what the way to a visit costs.

    ``ahead`` is by step of time, visit, and which of the visits ``near`` it a label has met, and
    levels of load that are left before it (each visit takes ``taken`` of them). ``cuts_of`` are
    the cuts a visit is in, as bits; ``fines`` what every second visit of a cut costs.
    """

    worth: Floats
    asked: Floats
    gained: Floats
    stock: Floats
    step_s: float
    ahead: Floats
    near: Ints
    taken: Ints
    cuts_of: Words
    fines: Floats


class Store(NamedTuple):
    """Labels (``number``, ``who``, ``bits``), the open ones as a heap, the best at each visit, rounds found.

    The bits are of visits met and, in the last word, of cuts visited an odd number of times. ``front`` has,
    by visit, what labels taken up there are compared by.
    """

    number: Floats
    who: Ints
    bits: Words
    key: Floats
    heap: Ints
    front: Floats
    front_bits: Words
    front_count: Ints
    found: Ints
    found_number: Floats
    values: Floats
    counts: Ints


def room_for(labels: int, ground: Ground, most_front: int, rounds: int) -> Store:
    """An empty store for so many labels, labels to compare with at each visit, and rounds."""
    visits, parts = ground.takes.shape
    stocks, words = len(ground.level), ground.keep.shape[1] + 1
    beside = 3 + parts - 1 + len(ground.scarce)
    return Store(
        number=np.zeros((labels, LOAD + parts + stocks)),
        who=np.zeros((labels, 4), dtype=np.int64),
        bits=np.zeros((labels, words), dtype=np.uint64),
        key=np.zeros(labels),
        heap=np.zeros(labels, dtype=np.int64),
        front=np.zeros((visits, most_front, beside)),
        front_bits=np.zeros((visits, most_front, words), dtype=np.uint64),
        front_count=np.zeros(visits, dtype=np.int64),
        found=np.zeros(rounds, dtype=np.int64),
        found_number=np.zeros((rounds, 1 + stocks)),
        values=np.zeros(3),
        counts=np.zeros(3, dtype=np.int64),
    )
