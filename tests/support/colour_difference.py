"""Measure how different two colours look: to usual eyes, to eyes that lack a cone, and on a grey printer.

Colour vision deficiencies: matrices of full severity of Machado, Oliveira and Fernandes, "A
physiologically-based model for simulation of color vision deficiency", IEEE Transactions on Visualization and
Computer Graphics 15(6), 2009, table 1 (values from memory), applied to linear sRGB. Difference: Euclidean
distance in CIE 1976 L*a*b* (CIE 15:2004), white D65. Contrast: WCAG 2.2.
"""

from __future__ import annotations

from itertools import combinations, pairwise

import numpy as np
from numpy.typing import NDArray

EYES: dict[str, NDArray[np.float64]] = {
    "normal": np.eye(3),
    "protan": np.array(
        [
            [0.152286, 1.052583, -0.204868],
            [0.114503, 0.786281, 0.099216],
            [-0.003882, -0.048116, 1.051998],
        ]
    ),
    "deutan": np.array(
        [
            [0.367322, 0.860646, -0.227968],
            [0.280085, 0.672501, 0.047413],
            [-0.011820, 0.042940, 0.968881],
        ]
    ),
    "tritan": np.array(
        [
            [1.255528, -0.076749, -0.178779],
            [-0.078411, 0.930809, 0.147602],
            [0.004733, 0.691367, 0.303900],
        ]
    ),
}
TO_XYZ = np.array(
    [[0.4124564, 0.3575761, 0.1804375], [0.2126729, 0.7151522, 0.0721750], [0.0193339, 0.1191920, 0.9503041]]
)
D65 = np.array([0.95047, 1.0, 1.08883])


def linear(colour: str) -> NDArray[np.float64]:
    """``#RRGGBB`` as linear sRGB, 0 to 1 (IEC 61966-2-1)."""
    value = np.array([int(colour[i : i + 2], 16) for i in (1, 3, 5)]) / 255
    return np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)


def lab(rgb: NDArray[np.float64]) -> NDArray[np.float64]:
    """CIE 1976 L*, a*, b* of linear sRGB."""
    xyz = TO_XYZ @ np.clip(rgb, 0, 1) / D65
    f = np.where(xyz > (6 / 29) ** 3, np.cbrt(xyz), xyz / (3 * (6 / 29) ** 2) + 4 / 29)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


def difference(a: str, b: str, eye: str = "normal") -> float:
    """CIE 1976 difference of two colours as seen by a kind of eye."""
    seen = [lab(EYES[eye] @ linear(colour)) for colour in (a, b)]
    return float(np.linalg.norm(seen[0] - seen[1]))


def least_difference(colours: tuple[str, ...], eye: str) -> float:
    """Between the two colours that are most alike."""
    return min(difference(a, b, eye) for a, b in combinations(colours, 2))


def lightness(colour: str) -> float:
    """L* of the grey that a black-and-white printer makes of a colour."""
    grey = float(TO_XYZ[1] @ linear(colour))
    return float(lab(np.full(3, grey))[0])


def least_grey_step(colours: tuple[str, ...]) -> float:
    """Least difference of lightness between any two colours in grayscale."""
    return min(b - a for a, b in pairwise(sorted(lightness(colour) for colour in colours)))


def contrast(a: str, b: str) -> float:
    """Contrast ratio of two colours, 1 to 21."""
    bright, dim = sorted((float(TO_XYZ[1] @ linear(colour)) for colour in (a, b)), reverse=True)
    return (bright + 0.05) / (dim + 0.05)
