"""Mark the functions that can run as machine code: the same text runs as Python where there is none.

What is marked works on arrays of records in place, by fields, whole indices and plain arithmetic:
``table[i][j].field``. As Python it is given nested lists of objects with the same fields, which is a
hundred times as fast as arrays.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

Function = TypeVar("Function", bound=Callable[..., Any])

TEXT: dict[Callable[..., Any], bool] = {}
"""All functions that are marked, and whether they are inlined."""


def kernel(function: Function) -> Function:
    """Mark a function."""
    TEXT[function] = False
    return function


def inlined(function: Function) -> Function:
    """Mark a function that is written out wherever it is called: a call hands over every array, which costs
    more
    than most rules do.
    """
    TEXT[function] = True
    return function
