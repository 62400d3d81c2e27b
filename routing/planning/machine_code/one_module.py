"""Have the compiler optimise and write out each entry once, with all that it calls, and nothing else.

The compiler optimises every function apart, then again wherever it is linked in, and writes machine code for
each, although only entries are ever called. This changes that in
the process that makes the code, and in no other.
"""

from __future__ import annotations

from typing import Any

from numba.core.codegen import JITCodeLibrary, JITCPUCodegen

ENTRY = "_ZN7cpython"
"""How the name of a function begins that Python calls."""

RUNTIME = ("nrt", "multi3")
"""Libraries of the compiler itself, which are there before any function."""


def emit_entries_alone() -> None:
    """Change the compiler in this process."""
    usual = JITCodeLibrary.finalize

    def finalize(library: Any) -> None:
        if _is_entry(library):
            library._linking_libraries = _below(library)
            usual(library)
        else:
            library._raise_if_finalized()
            library._finalized = True

    def set_env(codegen: Any, name: str, env: Any) -> None:
        if codegen._engine.get_global_value_address(name):
            usual_env(codegen, name, env)

    usual_env = JITCPUCodegen.set_env
    JITCodeLibrary.finalize, JITCPUCodegen.set_env = finalize, set_env


def _is_entry(library: Any) -> bool:
    """Whether a library is to be written out by itself."""
    if library.name in RUNTIME:
        return True
    functions = library._final_module.functions
    return any(f.name.startswith(ENTRY) and not f.is_declaration for f in functions)


def _below(library: Any) -> list[Any]:
    """All libraries that one calls, directly or not, each once."""
    found: dict[Any, None] = {}
    ahead = list(library._linking_libraries)
    while ahead:
        other = ahead.pop()
        if other not in found:
            found[other] = None
            ahead += [] if _is_entry(other) else other._linking_libraries
    return list(found)
