"""How much of the sugar that is fed ends up as stores, by strength and kind of syrup."""

from __future__ import annotations

from routing.domain.settings import FeedingSettings
from routing.domain.supplies import Syrup, SyrupKind
from routing.need.tables import clamped

SUGAR_SYRUPS = frozenset({SyrupKind.SUCROSE, SyrupKind.OTHER})
"""Bees invert these themselves; HFCS and invert syrups come inverted, and thick."""


def conversion_of(syrup: Syrup, feeding: FeedingSettings) -> float:
    """Stored sugar for each unit of fed sugar: the syrup's own, else the operation's, else by strength.

    Sucrose by its solids: ``conversion_1to1`` at 50 %, ``conversion_3to2`` at 60 %, ``conversion_2to1`` at
    66.7 %, straight lines between, the end values beyond. The thinner the syrup, the more water the bees
    drive off. HFCS and invert: ``conversion_inverted`` (estimate; nothing is published).

    References: K. Curth, University of Hohenheim (1981), as reprinted by the beekeepers' association of
    Merkstein: 0.896, 1.075 and 1.124 kg of winter stores from a kg of sugar; at 18.6 % water these keep
    0.73, 0.875 and 0.915 of it.
    """
    if syrup.conversion is not None:
        return syrup.conversion
    if feeding.conversion is not None:
        return feeding.conversion
    if syrup.kind not in SUGAR_SYRUPS:
        return feeding.conversion_inverted
    by_strength = (
        (0.50, feeding.conversion_1to1),
        (0.60, feeding.conversion_3to2),
        (2 / 3, feeding.conversion_2to1),
    )
    return clamped(by_strength, syrup.solids)
