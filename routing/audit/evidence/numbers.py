"""Look for numbers that are none: every figure of a plan is finite, every amount not negative."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from typing import Any

from routing.domain.plan import Finding, Plan

MOST = 1e12
"""No figure of a feeding day is larger."""

MAY_BE_NEGATIVE = frozenset({"lat", "lon", "gap", "objective", "geometry", "difference"})


def not_numbers(plan: Plan) -> list[Finding]:
    """Figures that are infinite, absurd or not a number; with one of these no sum can be judged."""
    return [
        Finding("not_a_number", f"{path} is {value}")
        for path, value in _figures(plan)
        if not abs(value) < MOST
    ]


def negative_numbers(plan: Plan) -> list[Finding]:
    """Amounts below zero."""
    return [
        Finding("negative", f"{path} is {value}")
        for path, value in _figures(plan)
        if value < 0 and not MAY_BE_NEGATIVE & set(path.replace("]", "").replace("[", ".").split("."))
    ]


def _figures(plan: Plan) -> Iterator[tuple[str, float]]:
    for f in fields(plan):
        if f.name not in ("assumptions", "seed"):
            yield from _walk(f.name, getattr(plan, f.name))


def _walk(path: str, value: Any) -> Iterator[tuple[str, float]]:
    if isinstance(value, bool):
        return
    if isinstance(value, (int, float)):
        yield path, value
    elif is_dataclass(value):
        for f in fields(value):
            yield from _walk(f"{path}.{f.name}", getattr(value, f.name))
    elif isinstance(value, dict):
        for key, item in value.items():
            yield from _walk(f"{path}[{key}]", item)
    elif isinstance(value, (tuple, list)):
        for i, item in enumerate(value):
            yield from _walk(f"{path}[{i}]", item)
