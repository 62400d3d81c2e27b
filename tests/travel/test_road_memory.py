"""Rows of roads that may not be driven to their end: the memory against a drive that remembers everything."""

from __future__ import annotations

import heapq
import random
from itertools import accumulate

import numpy as np
import pytest

from routing.travel.roads.memory import remember_ways

ARCS, LONGEST = 9, 5

Row = tuple[int, ...]


def _shortest(links: dict[int, list[tuple[int, int, int]]], origin: int, label: list[int]) -> dict[int, int]:
    """Least cost to each label, by Dijkstra over states."""
    best: dict[int, int] = {}
    seen: set[int] = set()
    ahead = [(0, origin)]
    while ahead:
        cost, state = heapq.heappop(ahead)
        if state in seen:
            continue
        seen.add(state)
        best.setdefault(label[state], cost)
        for _, after, more in links.get(state, []):
            heapq.heappush(ahead, (cost + more, after))
    return best


def _by_full_memory(pairs: list[tuple[int, int, int]], rows: list[Row], origin: int) -> dict[int, int]:
    """The same by carrying the last arcs along, as long as any row is."""
    best: dict[int, int] = {}
    seen: set[Row] = set()
    ahead: list[tuple[int, Row]] = [(0, (origin,))]
    while ahead:
        cost, past = heapq.heappop(ahead)
        if past in seen:
            continue
        seen.add(past)
        best.setdefault(past[-1], cost)
        for before, after, more in pairs:
            driven = (*past, after)
            if before == past[-1] and not any(driven[-len(row) :] == row for row in rows):
                heapq.heappush(ahead, (cost + more, driven[-LONGEST:]))
    return best


@pytest.mark.parametrize("seed", range(40))
def test_drives_are_those_of_a_driver_who_remembers_every_turn(seed: int) -> None:
    dice = random.Random(seed)
    pairs = [
        (a, b, dice.randint(1, 9))
        for a in range(ARCS)
        for b in range(ARCS)
        if a != b and dice.random() < 0.35
    ]
    after_of = {a: [b for x, b, _ in pairs if x == a] for a in range(ARCS)}
    rows: list[Row] = []
    for _ in range(dice.randint(1, 12)):
        row = [dice.randrange(ARCS)]
        while len(row) < dice.randint(3, LONGEST) and after_of[row[-1]]:
            row.append(dice.choice(after_of[row[-1]]))
        if len(row) >= 3:
            rows.append(tuple(row))
    columns = (np.array(column, dtype=np.int64) for column in zip(*pairs, strict=True))
    flat = np.array([arc for row in rows for arc in row], dtype=np.int64)
    start = np.array([0, *accumulate(len(row) for row in rows)], dtype=np.int64)
    seen = remember_ways(ARCS, *columns, flat, start)
    links: dict[int, list[tuple[int, int, int]]] = {}
    for before, after, cost in zip(
        seen.before.tolist(), seen.after.tolist(), seen.cost.tolist(), strict=True
    ):
        links.setdefault(before, []).append((before, after, cost))
    for origin in range(ARCS):
        assert _shortest(links, origin, seen.arc_of.tolist()) == _by_full_memory(pairs, rows, origin)


def test_nothing_is_remembered_where_nothing_is_forbidden() -> None:
    none, one = np.zeros(0, dtype=np.int64), np.array([1], dtype=np.int64)
    seen = remember_ways(3, np.array([0]), one, one, none, np.zeros(1, dtype=np.int64))
    assert (len(seen.arc_of), len(seen.before)) == (3, 1)
