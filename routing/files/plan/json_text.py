"""Write JSON that is the same for equal content, and readable: short things stay on one line."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from typing import Any

WIDTH = 110
DECIMALS = 6


def plain(value: Any, sorted_keys: frozenset[str] = frozenset()) -> Any:
    """Content made comparable: floats to six decimals, whole ones as integers, named mappings sorted.

    ``sorted_keys`` name the mappings whose order means nothing. Raises ValueError for a number that JSON
    cannot hold.
    """
    if isinstance(value, bool) or value is None or isinstance(value, (str, int)):
        return value
    if isinstance(value, float):
        if not math.isfinite(value):
            raise ValueError(f"JSON holds no {value}")
        near = round(value, DECIMALS)
        return int(near) if near.is_integer() and abs(near) < 1e15 else near
    if isinstance(value, Mapping):
        return {key: _entry(key, item, sorted_keys) for key, item in value.items()}
    return [plain(item, sorted_keys) for item in value]


def _entry(key: str, item: Any, sorted_keys: frozenset[str]) -> Any:
    if key in sorted_keys and isinstance(item, Mapping):
        item = {name: item[name] for name in sorted(item)}
    return plain(item, sorted_keys)


def pretty(value: Any) -> str:
    """JSON text with a line feed at the end; lists of numbers stay on one line whatever their length."""
    return _text(value, 0) + "\n"


def _text(value: Any, depth: int) -> str:
    if not isinstance(value, (dict, list)) or not value or _flat(value):
        return json.dumps(value, ensure_ascii=False)
    inner, outer = " " * (depth + 1), " " * depth
    if isinstance(value, dict):
        parts = [
            f"{inner}{json.dumps(key, ensure_ascii=False)}: {_text(item, depth + 1)}"
            for key, item in value.items()
        ]
        one = "{" + ", ".join(part.strip() for part in parts) + "}"
        opened, closed = "{", "}"
    else:
        parts = [inner + _text(item, depth + 1) for item in value]
        one = "[" + ", ".join(part.strip() for part in parts) + "]"
        opened, closed = "[", "]"
    if "\n" not in one and len(one) + depth <= WIDTH:
        return one
    return f"{opened}\n" + ",\n".join(parts) + f"\n{outer}{closed}"


def _flat(value: Any) -> bool:
    """A list of numbers, or of lists of numbers: a line to draw."""
    if not isinstance(value, list):
        return False
    return all(
        isinstance(item, (int, float))
        or (isinstance(item, list) and all(isinstance(number, (int, float)) for number in item))
        for item in value
    )
