"""What holds for every test: the same examples each time, however slow the machine; no table of yesterday."""

from __future__ import annotations

import os

from hypothesis import settings

settings.register_profile("feedround", derandomize=True, deadline=None, max_examples=100)
settings.load_profile("feedround")

os.environ["FEEDROUND_CACHE"] = "off"
