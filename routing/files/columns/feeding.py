"""List the keys of [uptake] and [keeping]: what bees take, and how long syrup keeps."""

from __future__ import annotations

from routing.files.columns.column import Table, number
from routing.files.columns.unit_family import DAYS, volume

_POSITIONS = ("entrance", "lid", "frame", "top", "communal")

UPTAKE = Table(
    "uptake",
    "how fast a colony empties a feeder, at 18 C and more",
    (),
    (
        number(
            "l_per_frame_day",
            volume("per_frame_day"),
            "syrup per frame of bees and day, from a feeder over the lid",
            0.01,
            1,
        ),
        *(number(p, p, f"times as fast from a {p} feeder", 0.1, 5) for p in _POSITIONS),
        *(
            number(f"{p}_frames", f"{p}_frames", f"frames of bees that a {p} feeder has room for", 1, 60)
            for p in _POSITIONS
        ),
    ),
)

KEEPING = Table(
    "keeping",
    "days syrup keeps in a feeder at 30 C; twice as long for every 10 degrees cooler",
    (),
    tuple(
        number(f"solids_{s}", f"solids_{s}", f"days that syrup of {s} % solids keeps", 0.5, 1000, unit=DAYS)
        for s in (30, 50, 55, 60, 67, 70, 77)
    ),
)
