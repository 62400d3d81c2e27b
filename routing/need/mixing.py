"""How much sugar and water make a syrup, and what a dilution comes to."""

from __future__ import annotations

from dataclasses import dataclass

from routing.domain.errors import require
from routing.need.syrup import MAX_SOLIDS, REFERENCE_C, sucrose_kg_per_m3, water_kg_per_m3

SUGAR_BULK_KG_PER_L = 0.849
"""Poured dry white sugar, as commonly tabulated."""

SUGAR_BULK_RANGE_KG_PER_L = (0.80, 0.88)


@dataclass(frozen=True)
class Batch:
    """A batch of sucrose syrup; ``solids`` is the mass fraction of sugar. Water measured at the batch's
    temperature."""

    sugar_kg: float
    water_kg: float
    water_l: float
    solids: float
    density_kg_per_l: float
    volume_l: float


@dataclass(frozen=True)
class VolumeBatch:
    """A batch measured in volumes of dry sugar and water.

    ``sugar_l`` is dry sugar as poured. Its true strength depends on how the sugar settles:
    ``solids_low`` and ``solids_high`` state the range, ``batch`` the usual case.
    """

    batch: Batch
    sugar_l: float
    solids_low: float
    solids_high: float


def solids_by_weight(sugar_parts: float, water_parts: float) -> float:
    """Mass fraction of sugar in ``sugar_parts`` to ``water_parts`` by weight: 2:1 is 2/3."""
    require(sugar_parts > 0, f"a syrup has some sugar in it, not {sugar_parts} parts")
    require(water_parts >= 0, f"parts of water are not negative: {water_parts}")
    return sugar_parts / (sugar_parts + water_parts)


def solids_by_volume(
    sugar_parts: float, water_parts: float, bulk_kg_per_l: float = SUGAR_BULK_KG_PER_L
) -> float:
    """Mass fraction of sugar in parts of dry sugar to water measured by volume.

    References: bulk density of granulated sugar 0.849 kg/L as commonly tabulated, 0.80 to 0.88 in use.
    """
    water_kg_per_l = water_kg_per_m3(REFERENCE_C) / 1000
    return solids_by_weight(sugar_parts * bulk_kg_per_l, water_parts * water_kg_per_l)


def batch_of(sugar_kg: float, water_kg: float, temperature_c: float = REFERENCE_C) -> Batch:
    """The syrup that comes of dissolving ``sugar_kg`` of sugar in ``water_kg`` of water.

    Masses add, volumes do not: the volume is the mass over the density of the solution. Nothing boils
    off. Raises ``ValueRefused`` above 80 % sugar.
    """
    solids = solids_by_weight(sugar_kg, water_kg)
    require(
        solids <= MAX_SOLIDS,
        f"{sugar_kg:g} kg of sugar cannot dissolve in {water_kg:g} kg of water: {solids * 100:.0f} % sugar",
    )
    density = sucrose_kg_per_m3(solids, temperature_c) / 1000
    return Batch(
        sugar_kg=sugar_kg,
        water_kg=water_kg,
        water_l=water_kg / (water_kg_per_m3(temperature_c) / 1000),
        solids=solids,
        density_kg_per_l=density,
        volume_l=(sugar_kg + water_kg) / density,
    )


def mix_by_weight(
    volume_l: float, sugar_parts: float, water_parts: float, temperature_c: float = REFERENCE_C
) -> Batch:
    """Sugar and water for ``volume_l`` of syrup in a ratio by weight (2 and 1 for 2:1)."""
    require(volume_l > 0, f"a batch must be positive: {volume_l} L")
    unit = batch_of(sugar_parts, water_parts, temperature_c)
    scale = volume_l / unit.volume_l
    return batch_of(sugar_parts * scale, water_parts * scale, temperature_c)


def mix_by_volume(
    volume_l: float,
    sugar_parts: float,
    water_parts: float,
    bulk_kg_per_l: float = SUGAR_BULK_KG_PER_L,
    temperature_c: float = REFERENCE_C,
) -> VolumeBatch:
    """Sugar and water for ``volume_l`` of syrup in a ratio by volume of dry sugar.

    What a bucket calls 2:1 holds 62 to 64 % sugar, not 67: the result states the real strength.
    """
    water_kg_per_l = water_kg_per_m3(REFERENCE_C) / 1000
    batch = mix_by_weight(volume_l, sugar_parts * bulk_kg_per_l, water_parts * water_kg_per_l, temperature_c)
    low, high = (solids_by_volume(sugar_parts, water_parts, bulk) for bulk in SUGAR_BULK_RANGE_KG_PER_L)
    return VolumeBatch(batch, batch.sugar_kg / bulk_kg_per_l, low, high)
