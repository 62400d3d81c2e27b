"""Keep open labels in the order of their keys: a heap of their numbers, compiled."""

from __future__ import annotations

from routing.planning.bound.label_store import BOUND, DEPTH, DROPPED, LEAST, OPEN
from routing.planning.machine_code.jit import kept


@kept
def _sink(heap, key, label, at, count):  # type: ignore[no-untyped-def]
    """Put a label into a hole of the heap, or below."""
    while 2 * at + 1 < count:
        below = 2 * at + 1
        if below + 1 < count and key[heap[below + 1]] < key[heap[below]]:
            below += 1
        if key[heap[below]] >= key[label]:
            break
        heap[at] = heap[below]
        at = below
    heap[at] = label


@kept
def push(heap, key, label, count):  # type: ignore[no-untyped-def]
    """Put a label on a heap of so many."""
    at = count
    while at > 0:
        above = (at - 1) // 2
        if key[heap[above]] <= key[label]:
            break
        heap[at] = heap[above]
        at = above
    heap[at] = label


@kept
def ordered(s, eager):  # type: ignore[no-untyped-def]
    """Order the open labels anew: by bound, less ``eager`` for each visit served."""
    count = s.counts[OPEN]
    for at in range(count):
        label = s.heap[at]
        s.key[label] = s.number[label, BOUND] - eager * s.who[label, DEPTH]
    for at in range(count // 2 - 1, -1, -1):
        _sink(s.heap, s.key, s.heap[at], at, count)


@kept
def lowest(s):  # type: ignore[no-untyped-def]
    """The least that any round costs as far as is known."""
    least = min(s.values[LEAST], s.values[DROPPED])
    for at in range(s.counts[OPEN]):
        least = min(least, s.number[s.heap[at], BOUND])
    return least


@kept
def pop(s):  # type: ignore[no-untyped-def]
    """Take the open label of the lowest key."""
    label = s.heap[0]
    s.counts[OPEN] -= 1
    if s.counts[OPEN] > 0:
        _sink(s.heap, s.key, s.heap[s.counts[OPEN]], 0, s.counts[OPEN])
    return label
