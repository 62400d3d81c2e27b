"""Copy and sort in place: the machine code asks for no memory."""

from __future__ import annotations

from routing.planning.machine_code.records import Floats, Ints
from routing.planning.machine_code.text import inlined, kernel


@inlined
def copy(source: Ints, first: int, target: Ints, at: int, count: int) -> None:
    """Copy ``count`` numbers from ``source[first]`` on to ``target[at]`` on, of another array."""
    for i in range(count):
        target[at + i] = source[first + i]


@kernel
def sort_by(keys: Floats, items: Ints, count: int) -> None:
    """Sort the first items by their keys, which are moved along (D.L. Shell, CACM 2(7), 1959)."""
    gap = 1
    while gap < count // 3:
        gap = 3 * gap + 1
    while gap:
        for i in range(gap, count):
            key, item, j = keys[i], items[i], i
            while j >= gap and keys[j - gap] > key:
                keys[j], items[j] = keys[j - gap], items[j - gap]
                j -= gap
            keys[j], items[j] = key, item
        gap //= 3


@kernel
def heap(keys: Floats, ranked: Ints, count: int) -> None:
    """Rank the first keys as a heap, smallest on top."""
    for i in range(count):
        ranked[i] = i
    for root in range(count // 2 - 1, -1, -1):
        _sink(keys, ranked, root, count)


@inlined
def nth(keys: Floats, ranked: Ints, count: int, n: int) -> int:
    """Which of ``count`` keys in a heap comes n-th, asked for one by one: the found ones go to the end."""
    last = count - 1 - n
    ranked[0], ranked[last] = ranked[last], ranked[0]
    _sink(keys, ranked, 0, last)
    return ranked[last]


@inlined
def _sink(keys: Floats, ranked: Ints, root: int, count: int) -> None:
    while True:
        child = 2 * root + 1
        if child >= count:
            return
        if child + 1 < count and keys[ranked[child + 1]] < keys[ranked[child]]:
            child += 1
        if keys[ranked[root]] <= keys[ranked[child]]:
            return
        ranked[root], ranked[child] = ranked[child], ranked[root]
        root = child
