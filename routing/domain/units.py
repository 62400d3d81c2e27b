"""Exact conversion factors, stated once; everything inside is SI.

Source: NIST Handbook 44, Appendix C (the factors are exact by definition; values from memory).
"""

from __future__ import annotations

L_PER_US_GAL = 3.785411784
KG_PER_LB = 0.45359237
M_PER_MILE = 1609.344
M_PER_FOOT = 0.3048
M_PER_NAUTICAL_MILE = 1852.0
S_PER_MIN = 60.0
S_PER_H = 3600.0
DAY_S = 86_400

M_PER_KM = 1000.0

GRAVITY_M_PER_S2 = 9.80665
"""Standard gravity, exact by definition (3rd General Conference on Weights and Measures, 1901)."""

J_PER_MJ = 1e6


def celsius(fahrenheit: float) -> float:
    """Degrees Celsius from degrees Fahrenheit."""
    return (fahrenheit - 32.0) / 1.8


def fahrenheit(celsius_: float) -> float:
    """Degrees Fahrenheit from degrees Celsius."""
    return celsius_ * 1.8 + 32.0


def miles_per_us_gal(litres_per_km: float) -> float:
    """Miles per US gallon from fuel use in L/km."""
    return L_PER_US_GAL / (litres_per_km * M_PER_MILE / M_PER_KM)
