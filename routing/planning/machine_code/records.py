"""Name the arrays that machine code works on, and make types of records with named fields."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Ints = NDArray[np.int64]
Words = NDArray[np.uint64]
"""Sets as bits, 64 to a word."""

Records = NDArray[Any]


def record(whole: str, real: str = "") -> np.dtype[Any]:
    """The type of a record with these fields: whole numbers, then real ones."""
    fields = [(name, np.int64) for name in whole.split()] + [(name, np.float64) for name in real.split()]
    return np.dtype(fields, align=True)
