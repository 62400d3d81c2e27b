"""List the keys of operation.toml, section by section."""

from __future__ import annotations

from routing.domain.feed_settings import KeepingSettings, UptakeSettings
from routing.domain.road_settings import RoadSettings
from routing.domain.settings import (
    CIRCUITY,
    CostSettings,
    FeedingSettings,
    ShiftSettings,
    TravelSettings,
    WorkSettings,
)
from routing.files.columns.column import Column, Table, choice, fraction, ident, number, text, whole, yes_no
from routing.files.columns.feeding import KEEPING, UPTAKE
from routing.files.columns.roads import ROADS
from routing.files.columns.unit_family import (
    DAYS,
    HOURS,
    MINUTES,
    SECONDS,
    Name,
    Unit,
    mass,
    per_distance,
    per_volume,
    plain,
    speed,
    temperature,
    volume,
)

SETTINGS_TYPES = {
    "cost": CostSettings,
    "shift": ShiftSettings,
    "travel": TravelSettings,
    "feeding": FeedingSettings,
    "work": WorkSettings,
    "roads": RoadSettings,
    "uptake": UptakeSettings,
    "keeping": KeepingSettings,
}

_OPERATION = Table(
    "operation",
    "who and where",
    (),
    (
        text("name", "name of the operation", default_text="name of the folder"),
        Column("timezone", plain("timezone"), "text", "IANA time zone, such as America/Chicago", True),
        choice("units", ("us", "metric"), "units of the outputs; input may be in either", required=True),
        Column("currency", plain("currency"), "text", "ISO 4217 code of the currency, such as USD", True),
    ),
)

_COST = Table(
    "cost",
    "what things cost",
    (),
    (
        number("labor_per_h", "labor_per_h", "pay per person and hour", 0, 1e7),
        number(
            "overtime_per_h",
            "overtime_per_h",
            "pay per person for an hour of overtime, the whole rate",
            0,
            1e7,
            default_text="1.5 x labor_per_h",
        ),
        number("fuel_per_l", per_volume("fuel"), "price of fuel", 0, 1e6),
        number("vehicle_per_km", per_distance("vehicle"), "wear of a truck, without fuel", 0, 1e6),
        number(
            "drop_value_per_colony", "drop_value_per_colony", "what leaving one colony unfed costs", 0, 1e8
        ),
        number("loss_per_colony", "loss_per_colony", "what a colony that starves costs", 0, 1e8),
        number("priority_high", "priority_high", "weight of a yard of priority high or must", 1, 100),
        number("priority_low", "priority_low", "weight of a yard of priority low", 0, 1),
        number(
            "balance_per_h",
            "balance_per_h",
            "cost of an hour's difference between the trucks' shifts",
            0,
            1e7,
        ),
        number(
            "moved_stop", "moved_stop", "saving needed for a re-plan to move a stop to another truck", 0, 1e7
        ),
        number(
            "changed_order",
            "changed_order",
            "saving needed for a re-plan to change which stop a stop follows",
            0,
            1e7,
        ),
        number(
            "co2_kg_per_l",
            (
                Name("co2_kg_per_gal", Unit("kg/US gal", per_volume("x")[0].unit.factor)),
                Name("co2_kg_per_l", Unit("kg/L")),
            ),
            "carbon dioxide from burning fuel",
            0,
            4,
        ),
    ),
)

_SHIFT = Table(
    "shift",
    'when crews work; a shift may cross midnight (`start = "21:00"`, `end = "05:00"`)',
    (),
    (
        Column("start_s", plain("start"), "time", "nobody leaves before", default_text="06:00 (estimate)"),
        Column("end_s", plain("end"), "time", "everybody is back by", default_text="20:00 (estimate)"),
        number("max_s", "max_h", "ordinary hours", 1800, 86_400, unit=HOURS, whole_si=True),
        number("overtime_s", "overtime_h", "overtime allowed on top", 0, 43_200, unit=HOURS, whole_si=True),
        number("break_s", "break_min", "length of a break; 0: none", 0, 14_400, unit=MINUTES, whole_si=True),
        number(
            "break_after_s", "break_after_h", "hours before a break", 1800, 86_400, unit=HOURS, whole_si=True
        ),
        choice("break_clock", ("work", "driving"), "whether those hours count all work or only driving"),
        number("max_driving_s", "max_driving_h", "hours of driving", 1800, 86_400, unit=HOURS, whole_si=True),
        yes_no("leave_by_window", "gate hours apply to the whole visit, not only to its start"),
    ),
)

_TRAVEL = Table(
    "travel",
    "where driving distances and times come from",
    (),
    (
        choice(
            "method",
            ("straight", "roads", "engine", "server"),
            "straight: line x circuity; roads: the road graph of `extract`; engine: a routing engine on this "
            "machine; server: the one at `server_url`",
        ),
        choice(
            "network",
            ("open", "mixed", "mountain"),
            "the land (farmland or grid; with towns or forest; mountains): sets circuity if none is typed",
        ),
        number(
            "circuity",
            "circuity",
            "road distance for each unit of straight distance",
            1,
            5,
            default_text=", ".join(f"{value:.2f} {land}" for land, value in CIRCUITY.items()),
        ),
        number("speed_km_per_h", speed("speed"), "truck speed on longer legs", 5, 130),
        text("extract", "file with the road graph or map extract"),
        text("server_url", "address of a routing server, without password or key; places are sent to it"),
        choice("server_kind", ("osrm", "valhalla"), "the interface that the server speaks"),
        text(
            "server_profile",
            "profile (osrm) or costing (valhalla) to ask for; empty: driving, or truck with each truck's "
            "mass and size",
        ),
        number("server_timeout_s", "server_timeout_s", "longest wait for one answer", 1, 600, unit=SECONDS),
        choice(
            "server_fallback",
            ("none", "straight"),
            "when the server fails: stop with its error, or estimate from straight lines and say so",
        ),
    ),
)

_FEEDING = Table(
    "feeding",
    "what the feeding is for, and how syrup becomes stores",
    (),
    (
        ident("syrup_id", "the usual syrup", "syrups", False, default_text="the only row of syrups"),
        choice("goal", ("winter", "survive", "build"), "winter stores, survival, or build-up"),
        number("target_stores_kg", mass("target_stores"), "stores wanted per colony", 1, 90),
        number("reserve_days", "reserve_days", "days of stores kept in reserve", 0, 365, unit=DAYS),
        number("daily_use_kg", mass("daily_use"), "honey a colony uses in a day", 0, 3),
        number("target_nucleus_kg", mass("target_nucleus"), "stores wanted on up to 6 frames", 1, 90),
        number("target_single_kg", mass("target_single"), "stores wanted on up to 12 frames", 1, 90),
        fraction(
            "conversion",
            "stored sugar for each unit of fed sugar, whatever the syrup",
            0.70,
            0.98,
            default_text="by strength and kind of each syrup",
        ),
        fraction("conversion_1to1", "the same for sugar syrup of 50 % solids", 0.5, 0.98),
        fraction("conversion_3to2", "the same for sugar syrup of 60 % solids", 0.5, 0.98),
        fraction("conversion_2to1", "the same for sugar syrup of 66.7 % solids and more", 0.5, 0.98),
        fraction("conversion_inverted", "the same for HFCS and invert syrup", 0.5, 1),
        Column("feed_by", plain("feed_by"), "date", "last date on which winter feed is given"),
        fraction("honey_moisture", "water in ripe honey, mass fraction", 0.10, 0.25),
        number("next_visit_days", "next_visit_days", "days until the next visit", 0, 365, unit=DAYS),
        number("min_feed_c", temperature("min_feed"), "no liquid feed under this temperature", -10, 30),
        number(
            "temperature_c", temperature("temperature"), "day temperature where a yard gives none", -50, 55
        ),
        number("low_c", temperature("low"), "the night's low where a yard gives none", -50, 45),
        yes_no("warm_hours_only", "hives are opened only at hours as warm as min_feed"),
        choice("robbing", ("low", "high"), "robbing pressure now"),
        fraction("margin", "share of extra syrup loaded", 0, 0.5),
        yes_no("communal", "open tubs are allowed"),
        choice(
            "spill_prone", ("late", "never"), "feeders that drip, under high robbing: poured late, or never"
        ),
        Column("late_from_s", plain("late_from"), "time", "what counts as late in the day"),
        number("starving_days", "starving_days", "a yard with less must be served", 0, 60, unit=DAYS),
        number(
            "days_error",
            "days_error",
            "how far days of stores may be off, as a factor: nine of ten colonies lie within it",
            1.05,
            5,
        ),
        number("build_l_per_day", volume("build", "_per_day"), "syrup per colony and day in build-up", 0, 10),
        number("deep_frame_kg", mass("deep_frame"), "honey on a full deep frame", 0.5, 6),
        number("medium_frame_kg", mass("medium_frame"), "honey on a full medium frame", 0.3, 5),
        whole("stale_days", "stale_days", "days after which an inspection is refused", 1, 1000),
        fraction(
            "refill_below", "a feeder at least so full is not filled up, but for starving colonies", 0.01, 1
        ),
        number("min_dose_l", volume("min_dose"), "least syrup per colony worth opening the hive", 0, 20),
    ),
)

_WORK = Table(
    "work",
    "handling times, small weights and rules of the crew",
    (),
    (
        number(
            "pail_load_s",
            "pail_load_s",
            "time to load a full pail and take off an empty",
            0,
            600,
            unit=SECONDS,
        ),
        number("pail_kg", mass("pail"), "weight of an empty pail", 0, 20),
        number(
            "pail_clean_s",
            "pail_clean_s",
            "time to scrub and disinfect one pail from a watched yard",
            0,
            3600,
            unit=SECONDS,
        ),
        number(
            "clean_feeder_s",
            "clean_feeder_min",
            "time per hive to tip out spoilt syrup and clean the feeder",
            0,
            3600,
            unit=MINUTES,
        ),
        number("wash_s", "wash_min", "time to wash down", 0, 8 * 3600, unit=MINUTES, whole_si=True),
        yes_no("watch_after_clean", "yards under watch come after clean ones"),
        yes_no(
            "quarantine_permit",
            "quarantined yards are fed, last; no leaves them out. Your permit decides, not this (either key)",
            names=(Name("quarantine_permit", Unit("")), Name("enter_quarantine", Unit(""))),
        ),
        fraction(
            "second_pair", "what a second pair of hands adds at the hives, as a share of the first", 0, 1
        ),
        fraction("third_pair", "what a third pair of hands adds at the hives, as a share of the first", 0, 1),
        yes_no("daylight_only", "yards are worked only between sunrise and sunset"),
        text("emergency_number", "local emergency number, printed on the sheets"),
    ),
)

_ALL = (_OPERATION, _COST, _SHIFT, _TRAVEL, _FEEDING, UPTAKE, KEEPING, _WORK, ROADS)

SECTIONS: dict[str, Table] = {table.name: table for table in _ALL}
