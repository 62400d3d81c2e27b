"""Write the routing profile of a truck: its limits and the user's speeds, in front of the rules for tags."""

from __future__ import annotations

from dataclasses import fields
from pathlib import Path

from routing.domain.fleet import Truck
from routing.domain.road_settings import RoadSettings

RULES = Path(__file__).parent / "profiles" / "truck.lua"
"""The judgement of tags, the same for all trucks."""

UNUSED = (
    "off_road_km_per_h", "snap_limit_m", "elevation", "climb_efficiency", "fuel_mj_per_l", "coast_slope",
)  # fmt: skip
"""Settings that are applied after the drive is found, so that changing them builds nothing anew."""


def profile_text(truck: Truck, roads: RoadSettings, library: Path) -> str:
    """A whole profile. ``library``: folder that holds the engine's own ``lib``.

    Limits of mass are held against the legal gross mass, loaded or not; those of size only against a size
    that is known.
    """
    limits = {
        "gross_kg": truck.gvwr_kg,
        "height_m": truck.height_m or 0.0,
        "length_m": truck.length_m or 0.0,
        "width_m": truck.width_m or 0.0,
        "axle_kg": truck.axle_kg or 0.0,
    }
    settings = {f.name: getattr(roads, f.name) for f in fields(roads) if f.name not in UNUSED}
    return "\n".join(
        [
            f"package.path = {_lua(library.as_posix() + '/?.lua;')} .. package.path",
            f"truck = {_lua(limits)}",
            f"road = {_lua(settings)}",
            RULES.read_text(encoding="utf-8"),
        ]
    )


def _lua(value: object) -> str:
    """A value as Lua writes it."""
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {_lua(item)}" for key, item in value.items()) + " }"
    if isinstance(value, int | float):
        return repr(value)
    text = str(value).replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n")
    return f'"{text}"'
