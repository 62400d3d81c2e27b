"""What holds for every test: the same examples each time, however slow the machine; no table of yesterday."""

from __future__ import annotations

import os
import signal

import pytest
from hypothesis import settings

from routing.planning.machine_code import code_folder
from routing.planning.machine_code.make import make

settings.register_profile("feedround", derandomize=True, deadline=None, max_examples=100)
settings.load_profile("feedround")

os.environ["FEEDROUND_CACHE"] = "off"

# A shell has Ctrl-C ignored in what it starts in the background, and in all that this starts.
if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    signal.signal(signal.SIGINT, signal.default_int_handler)


def pytest_sessionstart(session: pytest.Session) -> None:
    """Compile the search before any test, once for all processes."""
    if not hasattr(session.config, "workerinput") and code_folder.can_be_made():
        assert make() == ""
