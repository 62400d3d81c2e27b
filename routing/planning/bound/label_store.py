"""Keep labels as records, and the open ones in the order of their keys: a heap of their numbers."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from routing.planning.bound.label_data import LabelData
from routing.planning.machine_code.jit import jit
from routing.planning.machine_code.records import Floats, Ints, Records, Words, record

LABEL = record("visit parent served levels", "seconds money charged cost grams bound")
"""The end of a round, from reaching a visit on.

``parent``: the label it was grown from, -1 for none. ``served``: visits. ``levels`` of a truckload that its
visits take before the next call. ``money``: less duals. ``charged``: duals of resources so far. ``cost``: the
reduced cost that labels are compared by. ``grams`` aboard. ``bound``: on the reduced cost of every round that
ends so.
"""

STATE = record("open count found", "least dropped goal")
"""How many labels are ``open``, there are, and rounds ``found``; the ``least`` reduced cost found; the lowest
bound of a label ``dropped`` for want of room; the ``goal`` that rounds must be below to be kept."""

FOUND = record("label", "cost")
"""A round: its first visit's label, its reduced cost."""


class Store(NamedTuple):
    """Index ``i`` label, ``v`` visit, ``p`` part of the cargo, ``s`` limited stock."""

    state: Records
    """One record of STATE."""
    labels: Records
    """[i] of LABEL"""
    load: Floats
    """[i, p]: what must be aboard on coming to the visit"""
    drawn: Floats
    """[i, s]: shares drawn of limited stocks after the visit is reached"""
    bits: Words
    """[i, word]: visits met; in the last word, cuts visited an odd number of times"""
    key: Floats
    """[i]: what open labels are ordered by"""
    heap: Ints
    """The open labels."""
    front: Floats
    """[v, row, criterion]: what the labels taken up at a visit are compared by"""
    front_bits: Words
    """[v, row, word]"""
    front_count: Ints
    """[v]"""
    rounds: Records
    """Rounds found, of FOUND."""
    rounds_drawn: Floats
    """[round, s]"""
    left: Floats
    """[p], to work in: what a call does not give of a load"""
    whole: Floats
    """[p], to work in: a load with one visit more"""
    drawing: Floats
    """[s], to work in"""
    met: Ints
    """[v], to work in: which of the ng-set of each visit a label has met; -1 where the visit itself"""
    criteria: Floats
    """[criterion], to work in"""


def store_for(labels: int, data: LabelData, most_front: int, rounds: int) -> Store:
    """An empty store.

    Parameters
    ----------
    labels, rounds : int
        How many there is room for.
    data : LabelData
        The truck model whose labels it is for.
    most_front : int
        How many labels at each visit others are compared with.
    """
    visits, parts = data.takes.shape
    stocks, words = len(data.stocks), data.ng_words.shape[1] + 1
    criteria = 3 + parts - 1 + int(data.stocks["scarce"].sum())
    return Store(
        state=np.zeros(1, STATE),
        labels=np.zeros(labels, LABEL),
        load=np.zeros((labels, parts)),
        drawn=np.zeros((labels, stocks)),
        bits=np.zeros((labels, words), dtype=np.uint64),
        key=np.zeros(labels),
        heap=np.zeros(labels, dtype=np.int64),
        front=np.zeros((visits, most_front, criteria)),
        front_bits=np.zeros((visits, most_front, words), dtype=np.uint64),
        front_count=np.zeros(visits, dtype=np.int64),
        rounds=np.zeros(rounds, FOUND),
        rounds_drawn=np.zeros((rounds, stocks)),
        left=np.zeros(parts),
        whole=np.zeros(parts),
        drawing=np.zeros(stocks),
        met=np.zeros(visits, dtype=np.int64),
        criteria=np.zeros(criteria),
    )


@jit
def push(store: Store, label: int) -> None:
    """Put a label among the open ones."""
    heap, key, at = store.heap, store.key, store.state[0].open
    while at > 0:
        above = (at - 1) // 2
        if key[heap[above]] <= key[label]:
            break
        heap[at] = heap[above]
        at = above
    heap[at] = label
    store.state[0].open += 1


@jit
def pop(store: Store) -> int:
    """Take the open label of the lowest key."""
    label = int(store.heap[0])
    store.state[0].open -= 1
    if store.state[0].open > 0:
        _sink(store, store.heap[store.state[0].open], 0)
    return label


@jit
def order(store: Store, eagerness: float) -> None:
    """Order the open labels anew: by bound, less ``eagerness`` for each visit served."""
    count = store.state[0].open
    for at in range(count):
        label = store.heap[at]
        store.key[label] = store.labels[label].bound - eagerness * store.labels[label].served
    for at in range(count // 2 - 1, -1, -1):
        _sink(store, store.heap[at], at)


@jit
def lowest(store: Store) -> float:
    """The least reduced cost that any round has as far as is known."""
    least = min(float(store.state[0].least), float(store.state[0].dropped))
    for at in range(store.state[0].open):
        least = min(least, float(store.labels[store.heap[at]].bound))
    return least


@jit
def _sink(store: Store, label: int, at: int) -> None:
    """Put a label into a hole of the heap, or below."""
    heap, key, count = store.heap, store.key, store.state[0].open
    while 2 * at + 1 < count:
        below = 2 * at + 1
        if below + 1 < count and key[heap[below + 1]] < key[heap[below]]:
            below += 1
        if key[heap[below]] >= key[label]:
            break
        heap[at] = heap[below]
        at = below
    heap[at] = label
