"""Turn functions over arrays into machine code, kept between runs in a folder of their own."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from types import FunctionType
from typing import Any, ParamSpec, TypeVar, cast

import numba
from numba.core.types.misc import unliteral

from routing.planning.machine_code.code_folder import code_folder
from routing.planning.machine_code.text import TEXT

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


@cache
def compiled(entry: Callable[P, R]) -> Callable[P, R]:
    """The machine code of a marked function, with all marked functions that it calls; kept between runs.

    The marked functions themselves go on as Python: copies of them, which see each other, are compiled.
    """
    twins = {function: _twin(function) for function in TEXT}
    codes: dict[Any, Any] = {}
    for function, twin in twins.items():
        if function is entry:
            codes[function] = _compiled(twin, cache=True, **COMPILED)
            ENTRIES.add(twin)
        else:
            options = {"no_cpython_wrapper": True, "forceinline": TEXT[function], **COMPILED}
            codes[function] = _one_copy(_compiled(twin, **options))
    for twin in twins.values():
        seen = twin.__globals__
        seen.update({name: codes[value] for name, value in seen.items() if _is_marked(value)})
    return cast("Callable[P, R]", codes[entry])


def _twin(function: Any) -> Any:
    """A copy of a function with names of its own to look up."""
    twin = FunctionType(function.__code__, dict(function.__globals__), function.__name__)
    twin.__module__, twin.__qualname__ = function.__module__, function.__qualname__
    return twin


def _is_marked(value: object) -> bool:
    return isinstance(value, FunctionType) and value in TEXT


def jit(function: Callable[P, R]) -> Callable[P, R]:
    """The function as machine code that only machine code calls: Python may not, and it would crash."""
    return cast("Callable[P, R]", _one_copy(_compiled(function, no_cpython_wrapper=True, **COMPILED)))


def entry(function: Callable[P, R]) -> Callable[P, R]:
    """The function as machine code that Python calls, compiled on its first call ever and kept."""
    ENTRIES.add(function)
    return cast("Callable[P, R]", _compiled(function, cache=True, **COMPILED))


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
