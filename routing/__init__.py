"""feedround: plan a day of feeding syrup to many apiaries.

    >>> import routing
    >>> operation = routing.read_operation("data_demo/sorrel_county")
    >>> operation
    Sorrel County autumn round: 36 yards, 1,002 colonies, 2 trucks

The names below are loaded when first used, so that importing ``routing`` loads no engine, no map library
and no pandas (PEP 562). docs/python.md has an example of each.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from routing.app.notebook.day import PlannedDay, plan_day
    from routing.app.notebook.operation import ReadOperation, read_operation
    from routing.app.notebook.roads import road_graph
    from routing.app.notebook.tables import (
        feed_record,
        log_pours,
        need_table,
        planned_against_real,
        travel_table,
    )
    from routing.domain.errors import FeedroundError, InputError, NoPlanError

_HOME = {
    "FeedroundError": "routing.domain.errors",
    "InputError": "routing.domain.errors",
    "NoPlanError": "routing.domain.errors",
    "PlannedDay": "routing.app.notebook.day",
    "ReadOperation": "routing.app.notebook.operation",
    "feed_record": "routing.app.notebook.tables",
    "log_pours": "routing.app.notebook.tables",
    "need_table": "routing.app.notebook.tables",
    "plan_day": "routing.app.notebook.day",
    "planned_against_real": "routing.app.notebook.tables",
    "read_operation": "routing.app.notebook.operation",
    "road_graph": "routing.app.notebook.roads",
    "travel_table": "routing.app.notebook.tables",
}

__all__ = [
    "FeedroundError",
    "InputError",
    "NoPlanError",
    "PlannedDay",
    "ReadOperation",
    "feed_record",
    "log_pours",
    "need_table",
    "plan_day",
    "planned_against_real",
    "read_operation",
    "road_graph",
    "travel_table",
]


def __getattr__(name: str) -> Any:
    if name not in _HOME:
        raise AttributeError(f"module 'routing' has no attribute {name!r}")
    return getattr(import_module(_HOME[name]), name)


def __dir__() -> list[str]:
    return sorted(__all__)
