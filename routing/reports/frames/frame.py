"""Make a data frame of rows, with the same columns and types however few rows there are."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

import pandas as pd


def frame_of(
    rows: Iterable[tuple[Any, ...]], columns: Mapping[str, str], timezone: str = "UTC"
) -> pd.DataFrame:
    """A frame of rows.

    Parameters
    ----------
    rows
        Tuples, as long as ``columns``.
    columns
        Name and type of each: a pandas dtype, or ``time`` for aware datetimes, shown in ``timezone``.
    timezone
        IANA name of the zone that times are shown in.
    """
    made = pd.DataFrame(list(rows), columns=list(columns))
    kind: Any
    for name, kind in columns.items():
        if kind == "time":
            made[name] = pd.to_datetime(made[name], utc=True).dt.tz_convert(timezone)
        elif kind == "date":
            made[name] = pd.to_datetime(made[name])
        else:
            made[name] = made[name].astype(kind)
    return made
