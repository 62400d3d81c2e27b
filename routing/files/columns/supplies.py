"""List the columns of feeders and syrups, and what a feeder is like by where it sits."""

from __future__ import annotations

from typing import Any

from routing.domain.supplies import FeederPosition, Risk
from routing.files.columns.column import (
    Column,
    Table,
    choice,
    fraction,
    ident,
    number,
    percent,
    text,
    whole,
    yes_no,
)
from routing.files.columns.unit_family import (
    DAYS,
    DENSITY,
    MINUTES,
    per_mass,
    per_volume,
    plain,
    temperature,
    volume,
)

# Common practice, no source, where the published feeder table (see docs) says nothing. The crew is
# taken to meet bees wherever a lid comes off.
_POSITION: dict[FeederPosition, dict[str, Any]] = {
    FeederPosition.ENTRANCE: {
        "opens_hive": False,
        "meets_bees": False,
        "frames_displaced": 0,
        "tilt_derate": 0.0,
        "level_visible": True,
        "spills": Risk.MEDIUM,
        "robbing": Risk.HIGH,
        "drowning": Risk.LOW,
    },
    FeederPosition.FRAME: {
        "opens_hive": True,
        "meets_bees": True,
        "frames_displaced": 1,
        "tilt_derate": 0.0,
        "level_visible": False,
        "spills": Risk.LOW,
        "robbing": Risk.LOW,
        "drowning": Risk.HIGH,
    },
    FeederPosition.LID: {
        "opens_hive": False,
        "meets_bees": True,
        "frames_displaced": 0,
        "tilt_derate": 0.0,
        "level_visible": False,
        "spills": Risk.MEDIUM,
        "robbing": Risk.LOW,
        "drowning": Risk.LOW,
    },
    FeederPosition.TOP: {
        "opens_hive": True,
        "meets_bees": True,
        "frames_displaced": 0,
        "tilt_derate": 0.25,
        "level_visible": False,
        "spills": Risk.LOW,
        "robbing": Risk.LOW,
        "drowning": Risk.MEDIUM,
    },
    FeederPosition.COMMUNAL: {
        "opens_hive": False,
        "meets_bees": True,
        "frames_displaced": 0,
        "tilt_derate": 0.0,
        "level_visible": True,
        "spills": Risk.LOW,
        "robbing": Risk.HIGH,
        "drowning": Risk.HIGH,
    },
}


def feeder_defaults(position: FeederPosition) -> dict[str, Any]:
    """What a feeder is like by where it sits, for every column left empty."""
    return {**_POSITION[position], "swapped": False}


def _by_position(field: str) -> str:
    return "by position: " + ", ".join(
        f"{position} {_shown(values[field])}" for position, values in _POSITION.items()
    )


def _shown(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return str(value)


def _risk(field: str, meaning: str) -> Column:
    return Column(
        field,
        plain(field),
        "risk",
        meaning,
        choices=("low", "medium", "high"),
        default_text=_by_position(field),
    )


FEEDERS = Table(
    "feeders",
    "kinds of feeder in use",
    ("feeder_id",),
    (
        ident("feeder_id", "id of the feeder"),
        choice(
            "position",
            ("entrance", "frame", "lid", "top", "communal"),
            "where it sits: at the entrance, as a frame, over a hole in the lid, on top under the lid, or "
            "an open tub for the whole yard",
            required=True,
        ),
        number(
            "capacity_l",
            volume("capacity"),
            "what one holds (a communal tub: the whole tub)",
            0.1,
            250,
            required=True,
            low_code="feeder_too_small",
        ),
        number(
            "service_s",
            "min_per_colony",
            "handling time per colony in person-minutes: what one worker takes alone, by your own timing",
            0,
            3600,
            unit=MINUTES,
            required=True,
        ),
        yes_no("opens_hive", "filling it opens the hive", default_text=_by_position("opens_hive")),
        yes_no("meets_bees", "opening it lets bees at the crew", default_text=_by_position("meets_bees")),
        yes_no("swapped", "filled at base and swapped: travels as pails", default_text="no"),
        whole(
            "frames_displaced",
            "frames_displaced",
            "frames it takes the place of",
            0,
            10,
            default_text=_by_position("frames_displaced"),
        ),
        fraction(
            "tilt_derate",
            "share of the capacity lost on a yard that is not level",
            0,
            1,
            default_text=_by_position("tilt_derate"),
        ),
        yes_no("level_visible", "its level is seen from outside", default_text=_by_position("level_visible")),
        _risk("spills", "how likely it drips; yes means high, no means low"),
        _risk("robbing", "how likely it sets off robbing"),
        _risk("drowning", "how likely it drowns bees"),
    ),
)

SYRUPS = Table(
    "syrups",
    "syrups as bought or mixed",
    ("syrup_id",),
    (
        ident("syrup_id", "id of the syrup"),
        choice(
            "kind", ("sucrose", "hfcs42", "hfcs55", "invert", "other"), "sugar it is made of", required=True
        ),
        percent("solids", "solids_pct", "solids by mass: 66.7 for 2:1 by weight", 0.1, 0.85, required=True),
        number("price_per_l", per_volume("price"), "price by volume", 0, 1e5, default_text="0"),
        number("price_per_kg", per_mass("price"), "price by weight, in place of that", 0, 1e5),
        number(
            "density_kg_per_l",
            DENSITY,
            "density on its label",
            0.9,
            1.6,
            default_text="from its kind and solids",
        ),
        number(
            "keeps_days",
            "keeps_days",
            "days it keeps in the feeder",
            0.5,
            1000,
            unit=DAYS,
            default_text="from its solids",
        ),
        text("lot", "lot or batch number, for the records"),
        number("temperature_c", temperature("temperature"), "temperature as pumped", -30, 90),
        fraction(
            "conversion",
            "stored sugar for each unit of this syrup's sugar",
            0.70,
            0.98,
            default_text="feeding.conversion, else by its solids and kind",
        ),
        text("supplier", "who sold it, for the feed record"),
    ),
)
