"""Turn functions over arrays into machine code, kept between runs in a folder of their own."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, ParamSpec, TypeVar, cast

import numba

from routing.planning.machine_code.code_folder import code_folder

P = ParamSpec("P")
R = TypeVar("R")

numba.config.CACHE_DIR = str(code_folder())
# The code asks for no memory and counts no references: both compiling and running are far faster so.
COMPILED: dict[str, Any] = {
    "nogil": True,
    "error_model": "numpy",
    "no_cfunc_wrapper": True,
    "_nrt": False,
}


def jit(function: Callable[P, R]) -> Callable[P, R]:
    """The function as machine code that only machine code calls: Python may not, and it would crash."""
    return cast("Callable[P, R]", numba.njit(no_cpython_wrapper=True, **COMPILED)(function))


def entry(function: Callable[P, R]) -> Callable[P, R]:
    """The function as machine code that Python calls, compiled on its first call ever and kept."""
    return cast("Callable[P, R]", numba.njit(cache=True, **COMPILED)(function))


def kept(function: Callable[P, R]) -> Callable[P, R]:
    """The function as machine code that may ask for memory, called by Python or other code of its kind."""
    return cast("Callable[P, R]", numba.njit(cache=True)(function))
