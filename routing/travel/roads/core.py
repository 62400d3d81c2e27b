"""Shrink a road network to what the drives between given places need, without changing any drive."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from routing.travel.graph.arcs import Mask
from routing.travel.graph.graph import Ints

WORTH = 0.004
"""A round that takes away less than this share of the nodes costs more time than it saves."""

MORE = 2
"""Links that bypassing a node may add. Measured on 735,000 nodes: 0 and 4 were slower."""


@dataclass(frozen=True)
class Core:
    """Links among ``nodes`` nodes; ``name`` has the number each node had before, in rising order.

    ``link`` numbers into a pool: below ``len(first_part) - shortcuts`` it is a link of the old network, else
    the pair ``first_part``, ``second_part``. Links are sorted by tail and head.
    """

    name: Ints
    tail: Ints
    head: Ints
    cost: Ints
    link: Ints
    first_part: Ints
    second_part: Ints

    @property
    def nodes(self) -> int:
        """How many nodes are left."""
        return len(self.name)


class _Links:
    """The links as they are now, and the pool of shortcuts made so far."""

    def __init__(self, nodes: int, tail: Ints, head: Ints, cost: Ints) -> None:
        self.nodes = nodes
        self.pool = len(tail)
        self.first: list[Ints] = [np.full(len(tail), -1, dtype=np.int64)]
        self.second: list[Ints] = [np.full(len(tail), -1, dtype=np.int64)]
        self.tail, self.head, self.cost, self.link = tail, head, cost, np.arange(len(tail))
        self.keep_cheapest()

    def keep(self, chosen: Mask | Ints) -> None:
        """Drop all links but these."""
        self.tail, self.head = self.tail[chosen], self.head[chosen]
        self.cost, self.link = self.cost[chosen], self.link[chosen]

    def keep_cheapest(self) -> None:
        """Of links between the same two nodes keep the cheapest, the oldest of equals."""
        key = self.tail * self.nodes + self.head
        order = np.lexsort((self.link, self.cost, key))
        key = key[order]
        self.keep(order[np.concatenate([[True], key[1:] != key[:-1]])] if len(key) else order)

    def degrees(self) -> tuple[Ints, Ints]:
        """Links into and out of each node."""
        into = np.bincount(self.head, minlength=self.nodes)
        return into, np.bincount(self.tail, minlength=self.nodes)

    def bypass(self, chosen: Mask) -> None:
        """Take nodes away, no two of them neighbours, and link what they linked."""
        goes_in, goes_out = chosen[self.head], chosen[self.tail]
        a, b = np.flatnonzero(goes_in), np.flatnonzero(goes_out)
        b = b[np.argsort(self.tail[b], kind="stable")]
        count = np.bincount(self.tail[b], minlength=self.nodes)
        start = np.cumsum(count) - count
        each = count[self.head[a]]
        one = np.repeat(a, each)
        two = b[start[self.head[one]] + np.arange(len(one)) - np.repeat(np.cumsum(each) - each, each)]
        loop = self.tail[one] == self.head[two]
        one, two = one[~loop], two[~loop]
        made = self.pool + np.arange(len(one))
        self.pool += len(one)
        self.first.append(self.link[one])
        self.second.append(self.link[two])
        rest = ~(goes_in | goes_out)
        tail, head, cost = self.tail[one], self.head[two], self.cost[one] + self.cost[two]
        self.tail = np.concatenate([self.tail[rest], tail])
        self.head = np.concatenate([self.head[rest], head])
        self.cost = np.concatenate([self.cost[rest], cost])
        self.link = np.concatenate([self.link[rest], made])
        self.keep_cheapest()


def shrink(nodes: int, tail: Ints, head: Ints, cost: Ints, wanted: Mask) -> Core:
    """Links between fewer nodes, with the same cheapest way between any two wanted ones.

    Dead ends go; then, round by round, nodes that can be bypassed with hardly more links than they had (a
    road that runs on, a side road joining), never two neighbours at once.
    """
    links = _Links(nodes, tail, head, cost)
    mixed = (np.arange(nodes, dtype=np.uint64) * np.uint64(0x9E3779B97F4A7C15)) >> np.uint64(11)
    while True:
        into, out = links.degrees()
        alive = (into + out) > 0
        dead = alive & ~wanted & ((into == 0) | (out == 0))
        if dead.any():
            links.keep(~(dead[links.tail] | dead[links.head]))
            continue
        chosen = alive & ~wanted & (into * out <= into + out + MORE)
        both = np.flatnonzero(chosen[links.tail] & chosen[links.head])
        a, b = links.tail[both], links.head[both]
        loses = np.where(mixed[a] > mixed[b], a, b)
        chosen[loses] = False
        if chosen.sum() <= WORTH * alive.sum():
            return _finished(links, wanted)
        links.bypass(chosen)


def _finished(links: _Links, wanted: Mask) -> Core:
    used = wanted.copy()
    used[links.tail] = True
    used[links.head] = True
    name = np.flatnonzero(used)
    place = np.zeros(links.nodes, dtype=np.int64)
    place[name] = np.arange(len(name))
    return Core(
        name=name,
        tail=place[links.tail],
        head=place[links.head],
        cost=links.cost,
        link=links.link,
        first_part=np.concatenate(links.first),
        second_part=np.concatenate(links.second),
    )


def unfold(core: Core, link: int) -> list[int]:
    """The links of the old network that one link of the core stands for, in order."""
    found: list[int] = []
    waiting = [link]
    while waiting:
        top = waiting.pop()
        first = int(core.first_part[top])
        if first < 0:
            found.append(top)
        else:
            waiting += [int(core.second_part[top]), first]
    return found
