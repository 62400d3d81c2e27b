"""How long syrup keeps, and when it crystallises, thickens or overheats."""

from __future__ import annotations

from routing.domain.feed_settings import KeepingSettings
from routing.domain.supplies import FeederPosition, Syrup, SyrupKind
from routing.need.tables import Table, clamped_log, interpolate

# Mass % sucrose at saturation by degrees C.
HERZFELD: Table = (
    (0, 64.18), (10, 65.58), (20, 67.09), (30, 68.70), (40, 70.42), (60, 74.18), (80, 78.36),
)  # fmt: skip
NEWER: Table = ((0, 64.44), (20, 66.74), (40, 70.22), (60, 74.32), (80, 78.74))

# mPa.s by mass % at 20 degrees C, and of 60 % by degrees C.
VISCOSITY_20C: Table = ((40, 6.2), (50, 15.5), (60, 58.7), (64, 120.0), (66, 183.0), (68, 289.0), (70, 483.0))
VISCOSITY_60PCT: Table = ((0, 238.0), (10, 110.0), (20, 56.5), (30, 33.8), (40, 21.3), (50, 14.0))

HFCS_CRYSTALS_C = {SyrupKind.HFCS42: 20.0, SyrupKind.HFCS55: 18.0}
"""HFCS-42 below about 68 F ("Alternative Sweeteners", p. 400); -55 "slightly cooler": estimate."""

COLD_PUMPING_C = 10.0
HOT_C, VERY_HOT_C = 35.0, 40.0

DEFAULT = KeepingSettings()

LONGEST_KEEPING_DAYS = 180.0
HIVE_WARMTH_C, HIVE_TOP_C = 10.0, 30.0


def solubility_pct(temperature_c: float, table: Table = HERZFELD) -> float:
    """Mass % of sucrose in a saturated solution, 0 to 80 degrees C.

    ``NEWER`` is the alternative: up to 0.3 points higher at 0 and 0.4 lower at 20 degrees C. Raises
    ``ValueRefused`` outside the range.

    References: Herzfeld's values, as in the CRC Handbook and "Confectionery and Chocolate Engineering"
    (2010), table A2.3; newer values from sugar tables. ICUMSA SPS-2 (1998) is the official table.
    """
    return interpolate(table, temperature_c, "solubility of sucrose by degrees C")


def supersaturation_points(solids: float, temperature_c: float, table: Table = HERZFELD) -> float:
    """Percentage points by which a sucrose syrup is above saturation; negative when below."""
    return solids * 100 - solubility_pct(temperature_c, table)


def may_crystallise(syrup: Syrup, temperature_c: float) -> bool:
    """Whether a syrup stored or pumped at this temperature may form crystals.

    Sucrose by the lower of the two solubility tables (2:1 below 20 degrees C), HFCS by its threshold.
    For invert and other syrups nothing is known: False.
    """
    if syrup.kind is SyrupKind.SUCROSE:
        held_c = min(max(temperature_c, 0.0), 80.0)
        return any(supersaturation_points(syrup.solids, held_c, table) > 0 for table in (HERZFELD, NEWER))
    return temperature_c < HFCS_CRYSTALS_C.get(syrup.kind, float("-inf"))


def viscosity_mpa_s(solids: float, temperature_c: float) -> float:
    """Viscosity of a sucrose syrup, mPa.s: 40 to 70 %, 0 to 50 degrees C, end values beyond.

    mu = mu(w, 20 C) * mu(60 %, t) / mu(60 %, 20 C), interpolated on the logarithm. Assumption: the
    factor of cold is that of 60 % at every strength; above 60 % it is larger, so this is a low figure.

    References: CRC Handbook, "Concentrative properties of aqueous solutions": sucrose.
    """
    cold = clamped_log(VISCOSITY_60PCT, temperature_c) / clamped_log(VISCOSITY_60PCT, 20.0)
    return clamped_log(VISCOSITY_20C, solids * 100) * cold


def thickening_factor(solids: float, temperature_c: float) -> float:
    """How many times thicker a sucrose syrup is than at 20 degrees C."""
    return viscosity_mpa_s(solids, temperature_c) / viscosity_mpa_s(solids, 20.0)


def keeping_days(solids: float, temperature_c: float, keeping: KeepingSettings = DEFAULT) -> float:
    """Days until a syrup ferments or moulds: an estimate, by strength and temperature.

    ``keeping`` at 30 degrees C, doubled for each 10 degrees cooler and halved for each 10
    warmer (assumption: the usual rule for spoilage), between 1 and 180 days.
    """
    at_30c = clamped_log(keeping.by_solids, solids)
    return float(min(max(at_30c * 2 ** ((30.0 - temperature_c) / 10), 1.0), LONGEST_KEEPING_DAYS))


def keeping_days_in_feeder(
    syrup: Syrup, position: FeederPosition, temperature_c: float, keeping: KeepingSettings = DEFAULT
) -> float:
    """Days a syrup keeps in a feeder; the label's own ``keeps_days`` stands when given.

    Feeders in or on the hive are warmed by the bees: taken as 10 degrees above the air but no more
    than 30, or the air itself when hotter (estimate). Entrance and communal feeders have the air's.
    """
    if syrup.keeps_days is not None:
        return syrup.keeps_days
    if position in (FeederPosition.ENTRANCE, FeederPosition.COMMUNAL):
        return keeping_days(syrup.solids, temperature_c, keeping)
    warmed = max(temperature_c, min(temperature_c + HIVE_WARMTH_C, HIVE_TOP_C))
    return keeping_days(syrup.solids, warmed, keeping)
