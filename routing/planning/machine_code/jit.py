"""Turn functions over arrays into machine code, kept between runs in a folder of their own."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, ParamSpec, TypeVar, cast

import numba
from numba.core.types.misc import unliteral

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


FUNCTIONS: set[Any] = set()
"""All functions that are to be compiled."""

ENTRIES: set[Any] = set()
"""Those of them that Python calls."""


def jit(function: Callable[P, R]) -> Callable[P, R]:
    """The function as machine code that only machine code calls: Python may not, and it would crash."""
    return cast("Callable[P, R]", _one_copy(_compiled(function, no_cpython_wrapper=True, **COMPILED)))


def inlined(function: Callable[P, R]) -> Callable[P, R]:
    """The same, written out wherever it is called: a call hands over every array, which costs more than most
    rules do.
    """
    options = {"no_cpython_wrapper": True, "forceinline": True, **COMPILED}
    return cast("Callable[P, R]", _one_copy(_compiled(function, **options)))


def entry(function: Callable[P, R]) -> Callable[P, R]:
    """The function as machine code that Python calls, compiled on its first call ever and kept."""
    ENTRIES.add(function)
    return cast("Callable[P, R]", _compiled(function, cache=True, **COMPILED))


def kept(function: Callable[P, R]) -> Callable[P, R]:
    """The function as machine code that may ask for memory, called by Python or other code of its kind."""
    return cast("Callable[P, R]", _compiled(function, cache=True))


def _compiled(function: Any, **options: Any) -> Any:
    FUNCTIONS.add(function)
    return numba.njit(**options)(function)


def _one_copy(compiled: Any) -> Any:
    """The function compiled for types alone: numba makes a copy for every constant that it is called with."""
    by_value = compiled.get_call_template

    def by_type(args: tuple[Any, ...], kws: dict[str, Any]) -> Any:
        return by_value(tuple(map(unliteral, args)), {k: unliteral(v) for k, v in kws.items()})

    compiled.get_call_template = by_type
    return compiled
