"""Where what can be made again is kept on the user's own computer."""

from __future__ import annotations

import os
from pathlib import Path

PLACE = "FEEDROUND_CACHE"
"""Environment variable: another folder; ``off`` keeps no tables of drives."""

OFF = "off"


def user_cache() -> Path | None:
    """The user's own cache, whether it is there or not; None where the user has no home."""
    said = os.environ.get(PLACE, "")
    if said and said.lower() != OFF:
        return Path(said)
    try:
        base = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache")
    except RuntimeError:
        return None
    return base / "feedround"
