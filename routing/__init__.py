"""feedround: plan a day of feeding syrup to many apiaries.

The names below are loaded when first used, so that importing ``routing`` loads no engine and no map
library (PEP 562).
"""

from __future__ import annotations

from importlib import import_module
from typing import Any

_HOME = {
    "Operation": "routing.domain.operation",
    "Plan": "routing.domain.plan",
    "InputError": "routing.domain.errors",
    "DayOptions": "routing.planning.day",
    "SolveOptions": "routing.planning.solve",
    "audit": "routing.planning.audit",
    "dump_plan": "routing.files.plan_json",
    "load_plan": "routing.files.plan_json",
    "map_html": "routing.reports.map_html",
    "need_of_day": "routing.need.ration",
    "plan_day": "routing.planning.day",
    "read_operation": "routing.files.operation_folder",
    "travel_for": "routing.travel.choose",
}

__all__ = sorted(_HOME)


def __getattr__(name: str) -> Any:
    if name not in _HOME:
        raise AttributeError(f"module 'routing' has no attribute {name!r}")
    return getattr(import_module(_HOME[name]), name)


def __dir__() -> list[str]:
    return __all__
