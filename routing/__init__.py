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
    "DayOptions": "routing.planning.plan.day",
    "SolveOptions": "routing.planning.run.solve",
    "audit": "routing.audit",
    "dump_plan": "routing.files.plan.plan_json",
    "load_plan": "routing.files.plan.plan_json",
    "map_html": "routing.reports.map.html",
    "need_of_day": "routing.need.ration",
    "plan_day": "routing.planning.plan.day",
    "read_operation": "routing.files.operation.folder",
    "travel_for": "routing.travel.choose",
}

__all__ = sorted(_HOME)


def __getattr__(name: str) -> Any:
    if name not in _HOME:
        raise AttributeError(f"module 'routing' has no attribute {name!r}")
    return getattr(import_module(_HOME[name]), name)


def __dir__() -> list[str]:
    return __all__
