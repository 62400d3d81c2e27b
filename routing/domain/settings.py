"""The choices and assumptions of an operation, each with its default, unit and source.

Every field is a key of ``operation.toml``; inside it is SI. ``setting`` keeps unit and source beside
the default, so that a plan can show what it rests on.
"""

from __future__ import annotations

from dataclasses import dataclass, field, fields
from datetime import date
from typing import Any

from routing.domain.clock import TimeWindow
from routing.domain.errors import require
from routing.domain.places import Frame

ESTIMATE = "estimate"
_HOHENHEIM = "Curth, University of Hohenheim 1981, reprinted: stores of 18.6 % water"


def setting(default: Any, unit: str, source: str) -> Any:
    """A dataclass field that knows its unit and where its default comes from."""
    return field(default=default, metadata={"unit": unit, "source": source})


@dataclass(frozen=True)
class CostSettings:
    """[cost]: money per hour, litre, kilometre and colony, in the operation's currency."""

    labor_per_h: float = setting(22.0, "currency/h per person", ESTIMATE)
    overtime_per_h: float = setting(
        33.0, "currency/h per person, the whole rate of an overtime hour", ESTIMATE
    )
    fuel_per_l: float = setting(1.06, "currency/L", ESTIMATE)
    vehicle_per_km: float = setting(0.55, "currency/km, wear without fuel", ESTIMATE)
    drop_value_per_colony: float = setting(40.0, "currency per colony left unfed", ESTIMATE)
    loss_per_colony: float = setting(200.0, "currency per colony that starves", ESTIMATE)
    priority_high: float = setting(3.0, "times the value of leaving a yard, priority high or must", ESTIMATE)
    priority_low: float = setting(0.3, "times the value of leaving a yard, priority low", ESTIMATE)
    balance_per_h: float = setting(
        0.0, "currency per hour between the longest and shortest shift", "a choice"
    )
    moved_stop: float = setting(15.0, "currency per stop that a re-plan gives to another truck", ESTIMATE)
    changed_order: float = setting(3.0, "currency per stop that a re-plan puts after another", ESTIMATE)
    co2_kg_per_l: float = setting(2.697, "kg/L diesel", "EPA Emission Factors Hub: 10.21 kg/gal diesel")

    def __post_init__(self) -> None:
        for f in fields(self):
            require(getattr(self, f.name) >= 0, f"{f.name} is not negative: {getattr(self, f.name)}")


@dataclass(frozen=True)
class ShiftSettings:
    """[shift]: when crews work, and the limits they work under.

    ``window``: nobody leaves before its start nor is back after its end. ``max_s`` ordinary time,
    ``overtime_s`` allowed on top of it, paid at the overtime rate. A break of ``break_s`` begins no
    later than ``break_after_s`` after the start of the shift or the end of the last break
    (``break_clock`` "work"), or after that much driving ("driving", where any pause of ``break_s``
    without driving counts, as in 49 CFR 395.3(a)(3)(ii)).
    """

    window: TimeWindow = setting(TimeWindow(6 * 3600, 20 * 3600), "local time", ESTIMATE)
    max_s: int = setting(10 * 3600, "s", ESTIMATE)
    overtime_s: int = setting(2 * 3600, "s", ESTIMATE)
    break_s: int = setting(30 * 60, "s", "49 CFR 395.3(a)(3)(ii): 30 minutes")
    break_after_s: int = setting(5 * 3600, "s", ESTIMATE)
    break_clock: str = setting("work", "work | driving", "the stricter reading")
    max_driving_s: int = setting(11 * 3600, "s", "49 CFR 395.3(a)(3)(i): 11 h driving")

    leave_by_window: bool = setting(True, "gate hours bind the whole visit, not its beginning", "a choice")

    def __post_init__(self) -> None:
        require(self.max_s > 0, "a shift needs some hours")
        require(self.overtime_s >= 0 and self.break_s >= 0, "overtime and breaks are not negative")
        require(
            self.break_after_s > 0 and self.max_driving_s > 0,
            "hours before a break and of driving are above 0",
        )
        require(
            self.break_clock in ("work", "driving"), f"break_clock is work or driving: {self.break_clock}"
        )

    def break_overdue_s(self, worked_s: int, driven_s: int) -> int:
        """By how long a break is overdue, after so much work and so much driving since the last one."""
        if not self.break_s:
            return 0
        return max(0, (driven_s if self.break_clock == "driving" else worked_s) - self.break_after_s)


CIRCUITY = {"open": 1.40, "mixed": 1.55, "mountain": 1.85}
"""Road over straight line by the land, each the mean of three extracts measured on a road graph (sums of
drives over sums of lines between random places): open farmland and desert grids 1.37, 1.38, 1.46; town and
country, farm and forest 1.50, 1.56, 1.58; mountains 1.65, 1.74, 2.17. docs/roads.md, Circuity."""


@dataclass(frozen=True)
class TravelSettings:
    """[travel]: where driving distances and times come from."""

    method: str = setting("straight", "straight | roads | engine | server", "a choice")
    network: str = setting("open", "open | mixed | mountain: the land, for the default circuity", "a choice")
    circuity: float = setting(
        CIRCUITY["open"], "road distance / straight distance", "own measurement by network; +-11 % a leg"
    )
    speed_km_per_h: float = setting(55.0, "km/h on longer legs", ESTIMATE)
    extract: str = setting("", "file", "a choice")
    server_url: str = setting("", "address", "a choice")
    server_kind: str = setting("osrm", "osrm | valhalla", "a choice")
    server_profile: str = setting("", "profile or costing of the server", "driving (osrm), truck (valhalla)")
    server_timeout_s: float = setting(30.0, "s for one answer", ESTIMATE)
    server_fallback: str = setting("none", "none | straight, when the server fails", "a choice")

    def __post_init__(self) -> None:
        require(self.circuity >= 1, f"a road is not shorter than the straight line: circuity {self.circuity}")
        require(self.network in CIRCUITY, f"network is open, mixed or mountain: {self.network}")
        require(0 < self.speed_km_per_h <= 130, f"a truck drives 1 to 130 km/h, not {self.speed_km_per_h}")
        require(
            not self.server_url or self.server_url.strip().lower().startswith(("http://", "https://")),
            "server_url begins with http:// or https://",
        )
        require(
            not set("@?#") & set(self.server_url),
            "server_url holds no password, key or query (plans show it): what the server wants as its "
            "Authorization header goes into the environment variable FEEDROUND_SERVER_AUTH",
        )
        require(
            self.server_kind in ("osrm", "valhalla"), f"server_kind is osrm or valhalla: {self.server_kind}"
        )
        require(0 < self.server_timeout_s <= 600, f"a server gets 1 to 600 s, not {self.server_timeout_s}")
        require(
            self.server_fallback in ("none", "straight"),
            f"server_fallback is none or straight: {self.server_fallback}",
        )
        require(
            all(c.isalnum() or c in "-_." for c in self.server_profile),
            "server_profile is one word of letters, digits, - and _",
        )


@dataclass(frozen=True)
class FeedingSettings:
    """[feeding]: what the feeding is for, and how syrup becomes stores."""

    syrup_id: str = setting("", "id of the usual syrup", "a choice")
    goal: str = setting("winter", "winter | survive | build", "a choice")
    target_stores_kg: float = setting(
        40.8, "kg honey per colony", "USDA ARS Production Research Report 169 (1977): 90 lb in October"
    )
    reserve_days: float = setting(14.0, "days of stores kept in reserve", ESTIMATE)
    daily_use_kg: float = setting(
        0.3, "kg honey per colony and day", "estimate: 0.33-0.5 in the main brood season, weak"
    )
    target_nucleus_kg: float = setting(
        10.0,
        "kg honey per colony on up to 6 frames",
        "10 kg: school apiary, Germany (weak); 6 to 23 published",
    )
    target_single_kg: float = setting(
        25.0, "kg honey per colony on up to 12 frames", "55 lb: CAPA, quoted (weak); 16 to 25 kg published"
    )
    conversion: float | None = setting(
        None, "stored sugar / fed sugar; none: by strength and kind of each syrup", "a choice"
    )
    conversion_1to1: float = setting(0.73, "stored / fed sugar at 50 % solids", _HOHENHEIM)
    conversion_3to2: float = setting(0.875, "stored / fed sugar at 60 % solids", _HOHENHEIM)
    conversion_2to1: float = setting(0.915, "stored / fed sugar at 66.7 % solids", _HOHENHEIM)
    conversion_inverted: float = setting(0.95, "stored / fed sugar, HFCS and invert", "estimate: 0.93-0.97")
    feed_by: date | None = setting(None, "last date on which winter feed is given", "a choice")
    honey_moisture: float = setting(
        0.186, "mass fraction", "USDA AMS grades of extracted honey 1985: at most 18.6 %"
    )
    next_visit_days: float = setting(10.0, "days", ESTIMATE)
    min_feed_c: float = setting(10.0, "degrees C", "common practice: no liquid feed under 50 F")
    temperature_c: float = setting(18.0, "degrees C by day where a yard gives none", ESTIMATE)
    low_c: float = setting(8.0, "degrees C, the night's low where a yard gives none", ESTIMATE)
    warm_hours_only: bool = setting(
        False,
        "hives are opened only at hours as warm as min_feed_c; else such stops are cautioned",
        "a choice",
    )
    robbing: str = setting("low", "low | high", "a choice")
    margin: float = setting(0.03, "share of extra syrup loaded", ESTIMATE)
    communal: bool = setting(False, "open tubs allowed", "a choice")
    spill_prone: str = setting("late", "late | never: feeders that drip, under high robbing", "a choice")
    late_from_s: int = setting(16 * 3600, "s after midnight", ESTIMATE)
    starving_days: float = setting(5.0, "days of stores left at which a yard must be served", ESTIMATE)
    days_error: float = setting(
        1.6, "factor: nine of ten colonies last from days of stores / this to days x this", ESTIMATE
    )
    build_l_per_day: float = setting(0.5, "L per colony and day in build-up", ESTIMATE)
    deep_frame_kg: float = setting(2.72, "kg honey", "common practice, low end: 6 lb a deep frame")
    medium_frame_kg: float = setting(1.59, "kg honey", "common practice, low end: 3.5 lb a medium frame")
    stale_days: int = setting(60, "days after which an inspection is refused", ESTIMATE)
    refill_below: float = setting(
        0.5, "share of a feeder still full from which on it is not filled up (but for the starving)", ESTIMATE
    )
    min_dose_l: float = setting(0.25, "L per colony; less is not worth opening the hive", ESTIMATE)

    def __post_init__(self) -> None:
        require(self.goal in ("winter", "survive", "build"), f"goal is winter, survive or build: {self.goal}")
        require(self.robbing in ("low", "high"), f"robbing is low or high: {self.robbing}")
        require(self.spill_prone in ("late", "never"), f"spill_prone is late or never: {self.spill_prone}")
        require(
            self.conversion is None or 0.70 <= self.conversion <= 0.98,
            f"conversion is 0.70 to 0.98, not {self.conversion}",
        )
        require(
            0.1 <= self.honey_moisture <= 0.25, f"honey holds 10 to 25 % water, not {self.honey_moisture}"
        )
        require(self.days_error > 1, f"days_error is a factor above 1, not {self.days_error}")
        require(0 < self.refill_below <= 1, f"refill_below is a share above 0, not {self.refill_below}")
        require(0 <= self.margin <= 0.5, f"the margin is a share of 0 to 0.5, not {self.margin}")
        require(
            0 < self.target_stores_kg <= 90, f"a target is 1 to 90 kg of honey, not {self.target_stores_kg}"
        )

    def frame_kg(self, frame: Frame) -> float:
        """Honey on one full comb of a size."""
        return self.deep_frame_kg if frame is Frame.DEEP else self.medium_frame_kg


@dataclass(frozen=True)
class WorkSettings:
    """[work]: handling times and small weights nobody publishes."""

    pail_load_s: float = setting(10.0, "s to load one full pail and take off one empty", ESTIMATE)
    pail_kg: float = setting(0.9, "kg, one empty pail", ESTIMATE)
    pail_clean_s: float = setting(180.0, "s to scrub and disinfect one empty pail", ESTIMATE)
    clean_feeder_s: float = setting(60.0, "s per hive to tip out spoilt syrup and clean the feeder", ESTIMATE)
    wash_s: int = setting(1800, "s to wash down truck and gear", ESTIMATE)
    watch_after_clean: bool = setting(
        True, "yards under watch come after clean ones", "common practice, no source"
    )
    quarantine_permit: bool = setting(
        True, "quarantined yards are fed (last, and only where your permit covers it)", "a choice"
    )
    daylight_only: bool = setting(
        False, "yards are worked only between sunrise and sunset; else dark stops are cautioned", "a choice"
    )
    second_pair: float = setting(
        0.75, "of one worker's speed at the hives, added by a second pair of hands", ESTIMATE
    )
    third_pair: float = setting(
        0.55, "of one worker's speed at the hives, added by a third pair; more add nothing", ESTIMATE
    )
    emergency_number: str = setting("", "local emergency number, printed on sheets", "a choice")

    def hands(self, crew: int) -> float:
        """How many times as fast as one worker a crew is at the hives."""
        return 1.0 + self.second_pair * (crew >= 2) + self.third_pair * (crew >= 3)
