"""What holds for every test: the same examples each time, however slow the machine; no table of yesterday."""

from __future__ import annotations

import os

import pytest
from hypothesis import settings

from routing.planning.machine_code import code_folder

settings.register_profile("feedround", derandomize=True, deadline=None, max_examples=100)
settings.load_profile("feedround")

os.environ["FEEDROUND_CACHE"] = "off"


def pytest_sessionstart(session: pytest.Session) -> None:
    """Compile the search before any test, once for all processes."""
    if not hasattr(session.config, "workerinput") and code_folder.can_be_made():
        assert code_folder.make() == ""
