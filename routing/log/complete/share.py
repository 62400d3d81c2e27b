"""Share a total out by weights so that the shares add up to it."""

from __future__ import annotations

from collections.abc import Sequence


def shares(total: float, weights: Sequence[float]) -> list[float]:
    """Shares of a total to the thousandth, in proportion to weights; equal where all weights are 0."""
    thousandths = whole_shares(round(total * 1000), weights)
    return [part / 1000 for part in thousandths]


def whole_shares(total: int, weights: Sequence[float]) -> list[int]:
    """Whole shares of a whole total in proportion to weights (largest remainder; ties to the first)."""
    if not weights:
        return []
    weighed = [max(0.0, weight) for weight in weights]
    whole = sum(weighed)
    exact = [total * weight / whole if whole else total / len(weighed) for weight in weighed]
    parts = [int(value) for value in exact]
    by_rest = sorted(range(len(parts)), key=lambda i: (parts[i] - exact[i], i))
    for i in by_rest[: total - sum(parts)]:
        parts[i] += 1
    return parts
