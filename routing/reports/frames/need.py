"""What yards need, and how far it is between places, as data frames."""

from __future__ import annotations

from collections.abc import Sequence

import pandas as pd

from routing.domain.operation import Operation
from routing.domain.ration import YardNeed
from routing.domain.travel import Travel
from routing.reports.frames.frame import frame_of

NEED = {
    "yard_id": "str",
    "yard_name": "str",
    "lat_deg": "float64",
    "lon_deg": "float64",
    "colonies": "int64",
    "fed_colonies": "int64",
    "volume_l": "float64",
    "service_s": "float64",
    "days_of_stores": "float64",
    "starving": "bool",
    "urgent": "bool",
    "rounds_left": "int64",
    "reason_code": "str",
    "why": "str",
    "remedy": "str",
}
DOSES = {
    "yard_id": "str",
    "group": "str",
    "feeder_id": "str",
    "syrup_id": "str",
    "colonies": "int64",
    "each_l": "float64",
    "volume_l": "float64",
    "service_s": "float64",
    "pails": "int64",
}
TRAVEL = {
    "truck_id": "str",
    "origin": "str",
    "destination": "str",
    "distance_m": "int64",
    "drive_s": "int64",
}


def need(operation: Operation, needs: Sequence[YardNeed]) -> pd.DataFrame:
    """A row a yard: what it is to get and why, or why it gets nothing (``reason_code``)."""
    rows = (
        (
            n.yard_id, yard.name, yard.position.lat, yard.position.lon, n.colonies, n.fed_colonies,
            n.volume_l, n.service_s, n.days_of_stores, n.starving, n.urgent, n.rounds_left,
            "" if n.reason_code is None else n.reason_code.value, n.reason or n.why, n.remedy,
        )
        for n in needs
        for yard in (operation.yards[n.yard_id],)
    )  # fmt: skip
    return frame_of(rows, NEED)


def doses(needs: Sequence[YardNeed]) -> pd.DataFrame:
    """A row a group of colonies and feeder that is to get syrup; ``each_l`` and ``service_s`` a colony."""
    rows = (
        (
            n.yard_id, d.group, d.feeder_id, d.syrup_id, d.colonies, d.each_l, d.volume_l, d.service_s,
            d.pails,
        )
        for n in needs
        for d in n.doses
    )  # fmt: skip
    return frame_of(rows, DOSES)


def travel(operation: Operation, table: Travel) -> pd.DataFrame:
    """A row a truck and pair of different places (``yard:Y12``, ``depot:base``), with metres and seconds."""
    pairs = [(i, j) for i in range(len(table.places)) for j in range(len(table.places)) if i != j]
    rows = (
        (
            truck_id, table.places[i], table.places[j], int(matrix.distance_m[i, j]),
            int(matrix.drive_s[i, j]),
        )
        for truck_id in operation.trucks
        for matrix in (table.matrix_for(truck_id),)
        for i, j in pairs
    )  # fmt: skip
    return frame_of(rows, TRAVEL)
