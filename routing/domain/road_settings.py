"""The assumptions behind drives on a road network: speeds, delays and what counts as near a road."""

from __future__ import annotations

from dataclasses import dataclass, fields

from routing.domain.errors import require
from routing.domain.settings import ESTIMATE, setting

_SPEED = "km/h, loaded truck on a free road"
_TRACK = "km/h, loaded truck on a farm track"


@dataclass(frozen=True)
class RoadSettings:
    """[roads]: how fast a loaded truck drives on each kind of road, and what holds it up.

    A posted limit lowers a speed, never raises it. The speeds start from the cars' and trucks' defaults
    of open routing engines, lowered for a loaded truck; none of them is published for this trade.
    """

    motorway_km_per_h: float = setting(88.0, _SPEED, ESTIMATE)
    trunk_km_per_h: float = setting(80.0, _SPEED, ESTIMATE)
    primary_km_per_h: float = setting(70.0, _SPEED, ESTIMATE)
    secondary_km_per_h: float = setting(60.0, _SPEED, ESTIMATE)
    tertiary_km_per_h: float = setting(50.0, _SPEED, ESTIMATE)
    unclassified_km_per_h: float = setting(40.0, _SPEED, ESTIMATE)
    residential_km_per_h: float = setting(30.0, _SPEED, ESTIMATE)
    living_street_km_per_h: float = setting(10.0, _SPEED, ESTIMATE)
    service_km_per_h: float = setting(15.0, _SPEED, ESTIMATE)
    link_km_per_h: float = setting(45.0, _SPEED, ESTIMATE)
    track_km_per_h: float = setting(12.0, _TRACK, ESTIMATE)
    track_grade1_km_per_h: float = setting(25.0, _TRACK, ESTIMATE)
    track_grade2_km_per_h: float = setting(18.0, _TRACK, ESTIMATE)
    track_grade3_km_per_h: float = setting(14.0, _TRACK, ESTIMATE)
    track_grade4_km_per_h: float = setting(10.0, _TRACK, ESTIMATE)
    track_grade5_km_per_h: float = setting(7.0, _TRACK, ESTIMATE)
    gravel_km_per_h: float = setting(40.0, "km/h at most on gravel and other loose stone", ESTIMATE)
    dirt_km_per_h: float = setting(25.0, "km/h at most on earth, sand and grass", ESTIMATE)
    cobble_km_per_h: float = setting(25.0, "km/h at most on cobbles", ESTIMATE)
    off_road_km_per_h: float = setting(8.0, "km/h between a place and the nearest road", ESTIMATE)
    turn_s: float = setting(
        7.5,
        "s for a turn at a junction",
        "estimate: fitted to a routing engine's truck profile, against which drives were 18 % too fast",
    )
    sharp_turn_s: float = setting(15.0, "s for a turn of more than 120 degrees", ESTIMATE)
    signals_s: float = setting(12.0, "s at traffic lights", ESTIMATE)
    stop_s: float = setting(6.0, "s at a stop sign or railway crossing", ESTIMATE)
    gate_s: float = setting(60.0, "s to open, pass and close a gate", ESTIMATE)
    private_gate_s: float = setting(180.0, "s at a gate that is locked or marked private", ESTIMATE)
    ford_s: float = setting(20.0, "s at a ford", ESTIMATE)
    ground: str = setting("dry", "dry | wet: wet closes soft tracks and fords", "a choice")
    snap_limit_m: float = setting(500.0, "m from the nearest road at which to warn", "a choice")
    elevation: str = setting(
        "", "file, ESRI ASCII grid in degrees; empty: climbs are not counted", "a choice"
    )
    climb_efficiency: float = setting(
        0.40, "share of the fuel's energy that lifts the truck", "estimate: engine 0.43 x driveline 0.93"
    )
    fuel_mj_per_l: float = setting(
        35.8, "MJ/L, lower heating value of the fuel", "diesel, 128,488 Btu/gal: Argonne GREET 2013"
    )
    coast_slope: float = setting(
        0.015,
        "steepest slope at which a descent gives all its energy back",
        "estimate: rolling 0.008, air 0.007",
    )
    attribution: str = setting("", "whose map data it is; empty: as the road graph says", "a choice")

    def __post_init__(self) -> None:
        for f in fields(self):
            value = getattr(self, f.name)
            if f.name.endswith("_km_per_h"):
                require(0 < value <= 130, f"a truck drives 1 to 130 km/h: {f.name} = {value}")
            elif f.name.endswith("_s"):
                require(0 <= value <= 3600, f"a delay is 0 to 3600 s: {f.name} = {value}")
        require(self.ground in ("dry", "wet"), f"ground is dry or wet: {self.ground}")
        require(0.1 <= self.climb_efficiency <= 1, f"an efficiency is 0.1 to 1: {self.climb_efficiency}")
        require(10 <= self.fuel_mj_per_l <= 50, f"a fuel holds 10 to 50 MJ/L: {self.fuel_mj_per_l}")
        require(0 <= self.coast_slope <= 0.2, f"a slope of 0 to 0.2: {self.coast_slope}")
        require(0 < self.snap_limit_m <= 5000, f"the limit is 1 to 5000 m: {self.snap_limit_m}")
