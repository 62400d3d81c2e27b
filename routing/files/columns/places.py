"""List the columns of yards, colonies, depots and stock."""

from __future__ import annotations

from routing.domain.places import Foulbrood, Health, Priority
from routing.files.columns.column import Column, Table, choice, ident, number, text, whole, yes_no
from routing.files.columns.unit_family import (
    MINUTES,
    Name,
    Unit,
    length,
    mass,
    plain,
    pumping,
    temperature,
    volume,
)

_WINDOWS = "when it is open, local time, several joined with `;`: `06:30-11:00;21:00-03:00`"


def _position(whose: str) -> tuple[Column, Column]:
    # Latitude and longitude are bounded by the coordinate checks, which can tell a swap from a slip.
    return (
        Column("lat", plain("lat", Unit("degrees")), "number", f"latitude of the {whose}, WGS84", True),
        Column("lon", plain("lon", Unit("degrees")), "number", f"longitude of the {whose}, WGS84", True),
    )


YARDS = Table(
    "yards",
    "apiaries: where they are, when and by which trucks they can be reached, and their health",
    ("yard_id",),
    (
        ident("yard_id", "id of the yard"),
        text("name", "name the crew knows it by", default_text="the yard_id"),
        *_position("yard (the gate or the hives)"),
        Column("windows", plain("windows"), "windows", _WINDOWS, default=(), default_text="always open"),
        number(
            "max_gross_kg", mass("max_gross"), "heaviest truck that bridge or track can carry", 500, 80_000
        ),
        number("max_length_m", length("max_length"), "longest truck that can turn there", 2, 40),
        Column(
            "trucks",
            plain("trucks"),
            "ids",
            "ids of the trucks allowed there, joined with `;`",
            default=(),
            default_text="every truck",
            refers="trucks",
        ),
        choice(
            "health",
            ("clean", "watch", "quarantine"),
            "health; quarantined yards come last on a truck",
            default=Health.CLEAN,
            default_text="clean; quarantine where foulbrood is suspected or confirmed",
        ),
        choice(
            "foulbrood",
            ("no", "suspected", "confirmed"),
            "American or European; the yard is then under quarantine and never planned without a permit",
            default=Foulbrood.NO,
        ),
        text("permit", "permit to enter a yard with foulbrood: who gave it, its number and date"),
        number(
            "setup_s",
            "setup_min",
            "time to set up and leave, whatever is fed",
            0,
            4 * 3600,
            unit=MINUTES,
            default=600,
            whole_si=True,
        ),
        number(
            "last_mile_s",
            "last_mile_min",
            "time on the track from the public road, each way",
            0,
            4 * 3600,
            unit=MINUTES,
            default=0,
            whole_si=True,
        ),
        yes_no("level", "is level (hive-top feeders lose capacity if not)", default=True),
        Column("from_date", plain("from_date"), "date", "first date on which it may be entered"),
        Column("until_date", plain("until_date"), "date", "last date on which it may be entered"),
        yes_no("supers_on", "honey supers are on: never fed", default=False),
        number(
            "temperature_c",
            temperature("temperature"),
            "day temperature there on the feeding date",
            -50,
            55,
            default_text="feeding.temperature",
        ),
        number("low_c", temperature("low"), "the night's low there", -50, 45, default_text="feeding.low"),
        choice(
            "priority",
            ("must", "high", "normal", "low"),
            "how much you want it fed; must: on every plan, like a starving yard",
            default=Priority.NORMAL,
        ),
        text("registration_id", "number of the apiary registration"),
        text("gate", "gate: lock, code, who to call"),
        text("directions", "the last mile in words"),
        text("contact", "landowner and telephone"),
        text("hazards", "dogs, cattle, power lines, soft ground"),
        text("note", "anything else for the crew"),
    ),
)

COLONIES = Table(
    "colonies",
    "inspections: colonies in a yard that are alike. Several rows per yard are summed; of several dates "
    "the newest counts. Stores are judged in exactly one way per row: `stores`, or `honey_frames` with "
    "`frame`, or `gross` with `tare`",
    (),
    (
        ident("yard_id", "yard they stand in", "yards"),
        Column("date", plain("date"), "date", "date of the inspection", True),
        whole("colonies", "colonies", "live colonies in the group", 0, 2000, required=True),
        ident("feeder_id", "feeder they have", "feeders"),
        number("strength_frames", "strength_frames", "frames of bees", 0, 60, required=True),
        number("stores_kg", mass("stores"), "honey per colony", 0, 150),
        number("honey_frames", "honey_frames", "full frames of honey per colony", 0, 60),
        choice("frame", ("deep", "medium"), "size of those frames"),
        number("gross_kg", mass("gross"), "hive on the scale, per colony", 5, 350),
        number("tare_kg", mass("tare"), "hive, bees, comb and brood without honey", 3, 150),
        ident("syrup_id", "syrup to feed", "syrups", False, default_text="feeding.syrup_id"),
        number(
            "feed_left_l",
            volume("feed_left"),
            "syrup in the feeder at the inspection, per colony",
            0,
            250,
            default=0.0,
        ),
        number(
            "flow_kg_per_day",
            mass("flow", "_per_day"),
            "nectar coming in, as honey per colony and day",
            0,
            20,
            default=0.0,
        ),
        number(
            "daily_use_kg",
            mass("daily_use"),
            "honey one of these colonies uses in a day",
            0,
            3,
            default_text="feeding.daily_use",
        ),
        number(
            "target_stores_kg",
            mass("target_stores"),
            "stores wanted for winter in each of these colonies",
            1,
            90,
            default_text="by hive_frames",
        ),
        number(
            "hive_frames",
            "hive_frames",
            "frames of the hive that can hold stores, of the size in `frame` (else deep): up to 6 is a "
            "nucleus (feeding.target_nucleus), up to 12 a single box (target_single), more a larger hive "
            "(target_stores); no target is above what they hold",
            1,
            60,
            default_text="not known: feeding.target_stores",
        ),
        text("group", "name of the group within the yard", default_text="numbered in order"),
    ),
)

DEPOTS = Table(
    "depots",
    "places to load syrup, start and end",
    ("depot_id",),
    (
        ident("depot_id", "id of the depot"),
        text("name", "name the crew knows it by", default_text="the depot_id"),
        *_position("depot"),
        Column("windows", plain("windows"), "windows", _WINDOWS, default=(), default_text="always open"),
        yes_no("base", "also loads full pails and takes back empties", default=False),
        yes_no("wash_down", "truck and gear can be washed there", default=False),
        number(
            "setup_s",
            "setup_min",
            "time to set up before filling",
            0,
            4 * 3600,
            unit=MINUTES,
            default=600,
            whole_si=True,
        ),
    ),
)

STOCK = Table(
    "stock",
    "syrup in store at the depots",
    ("depot_id", "syrup_id"),
    (
        ident("depot_id", "depot it is stored at", "depots"),
        ident("syrup_id", "syrup", "syrups"),
        number("on_hand_l", volume("on_hand"), "syrup in store", 0, 2_000_000, default_text="not limited"),
        number("fill_l_per_s", pumping("fill"), "rate at which it is pumped aboard", 0.02, 60, required=True),
        Column(
            "from_s",
            (Name("from_time", Unit("")),),
            "time",
            "time of day from which it is there (a tanker that comes at ten)",
            default=0,
            default_text="00:00",
        ),
        Column(
            "counted",
            plain("date"),
            "date",
            "morning that `on_hand` is of; the day log goes on from there",
            default_text="before anything was noted",
        ),
    ),
)
