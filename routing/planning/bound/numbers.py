"""Names for the numbers of the lower bound."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Ints = NDArray[np.int64]
Words = NDArray[np.uint64]
FAR = 1e15
"""Stands for what cannot be: more than any money or time, and still added up without overflow."""
