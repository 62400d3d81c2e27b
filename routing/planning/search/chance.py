"""Chance that is the same as machine code and as Python.

Two congruential generators combined, with a period of 2.3e18 (P. L'Ecuyer, "Efficient and portable combined
random number generators", Communications of the ACM 31(6):742, 1988).
"""

from __future__ import annotations

from routing.planning.machine_code.records import Ints
from routing.planning.machine_code.text import inlined, kernel

FIRST, SECOND = 2_147_483_563, 2_147_483_399
WARM_UP = 20


@kernel
def sow(chance: Ints, seed: int) -> None:
    """Begin anew from a seed, 0 or more."""
    chance[0] = 1 + (seed * 7_919 + 12_345) % (FIRST - 1)
    chance[1] = 1 + (seed * 104_729 + 54_321) % (SECOND - 1)
    for _ in range(WARM_UP):
        share(chance)


@kernel
def share(chance: Ints) -> float:
    """A number from 0 to 1, both left out."""
    chance[0] = 40_014 * chance[0] % FIRST
    chance[1] = 40_692 * chance[1] % SECOND
    both = chance[0] - chance[1]
    if both < 1:
        both += FIRST - 1
    return both / FIRST


@inlined
def below(chance: Ints, most: int) -> int:
    """A whole number from 0 on, below another."""
    return int(share(chance) * most)


@inlined
def between(chance: Ints, low: float, high: float) -> float:
    """A number between two."""
    return low + share(chance) * (high - low)
