"""What a litre of syrup weighs and how much sugar is in it."""

from __future__ import annotations

from dataclasses import replace

from routing.domain.errors import InputError, InputProblem, ValueRefused, require
from routing.domain.operation import Operation
from routing.domain.supplies import Syrup, SyrupKind
from routing.domain.units import KG_PER_LB, L_PER_US_GAL, fahrenheit
from routing.need.tables import Table, extrapolate

REFERENCE_C = 20.0
"""Temperature taken for a syrup that states none."""

MAX_SOLIDS, MIN_C, MAX_C = 0.80, 0.0, 60.0

_WATER = (999.83952, 16.952577, -7.9905127e-3, -46.241757e-6, 105.84601e-9, -281.03006e-12)
_WATER_DIVISOR = 16.887236e-3

# Rows by power of d = (t - 20) / 100, columns by power of w from w^1 on; kg/m3.
_SUCROSE = (
    (385.1761, 135.3705, 40.9299, -3.9643, 13.4853, -17.2890),
    (-46.2720, -7.1720, 1.1597, 5.1126, 17.5254),
    (59.7712, 7.2491, 12.3630, -35.4791),
    (-47.2207, -21.6977, 27.6301),
    (18.3184, 12.3081),
)

# lb per US gallon by degrees F.
HFCS_LB_PER_GAL: dict[SyrupKind, Table] = {
    SyrupKind.HFCS42: ((60, 11.258), (70, 11.230), (80, 11.201), (90, 11.172), (100, 11.142)),
    SyrupKind.HFCS55: ((60, 11.573), (70, 11.542), (80, 11.511), (90, 11.479), (100, 11.448)),
}
HFCS_SOLIDS = {SyrupKind.HFCS42: 0.71, SyrupKind.HFCS55: 0.77}

INVERT_TO_SUCROSE = 0.997
"""Estimate: a half-inverted syrup lies midway between sucrose and HFCS of equal solids."""


def water_kg_per_m3(temperature_c: float) -> float:
    """Density of water, kg/m3, for 0 to 60 degrees C.

    Raises ``ValueRefused`` outside that range.

    References: the water term of ICUMSA SPS-4, as quoted in "Modeling and Simulation of Vertical
    Continuous Cooling Crystallizers for the Sugar Industry" (2005).
    """
    require(
        MIN_C <= temperature_c <= MAX_C,
        f"the density formula is valid for {MIN_C:g} to {MAX_C:g} degrees C, not {temperature_c:g}",
    )
    top = sum(a * temperature_c**power for power, a in enumerate(_WATER))
    return top / (1 + _WATER_DIVISOR * temperature_c)


def sucrose_kg_per_m3(w: float, temperature_c: float = REFERENCE_C) -> float:
    """Density of a sucrose solution, kg/m3: mass fraction ``w`` 0 to 0.80, 0 to 60 degrees C.

    rho = rho_water(t) + sum over i, j of A[i][j] d^i w^(j+1), with d = (t - 20) / 100.
    Raises ``ValueRefused`` outside the range. The cubics fitted for worts and juices are not used:
    they hold to 40 Brix only.

    References: ICUMSA Specification and Standard SPS-4, "Density of sugar solutions" (title from
    memory), coefficients as quoted in "Modeling and Simulation of Vertical Continuous Cooling
    Crystallizers for the Sugar Industry" (2005); agrees with the CRC Handbook within 0.3 kg/m3.
    """
    require(0 <= w <= MAX_SOLIDS, f"the density formula is valid for 0 to 80 % sugar, not {w * 100:g} %")
    d = (temperature_c - REFERENCE_C) / 100
    rho = water_kg_per_m3(temperature_c)
    for i, row in enumerate(_SUCROSE):
        rho += d**i * sum(a * w ** (j + 1) for j, a in enumerate(row))
    return rho


def hfcs_kg_per_l(kind: SyrupKind, solids: float, temperature_c: float) -> float:
    """Density of high-fructose corn syrup, kg/L, for 0 to 60 degrees C.

    The table holds for the usual solids (71 % HFCS-42, 77 % HFCS-55) and 60 to 100 degrees F. Beyond
    it the nearest line is drawn on (the slope is 0.003 lb/gal per degree F throughout); colder than
    0 or hotter than 60 degrees C is refused. Other solids (a lot, or a dilution) are scaled by the
    ratio of sucrose solutions: an assumption, within 0.2 % of mixing by volume at 10 % water.

    References: "Alternative Sweeteners", chapter on HFCS, table 5, p. 400; solids of lots: Journal of
    Chemical and Engineering Data, refractive index of HFCS (76.9 and 70.7 %).
    """
    nominal = sucrose_kg_per_m3(HFCS_SOLIDS[kind], temperature_c)
    lb_per_gal = extrapolate(HFCS_LB_PER_GAL[kind], fahrenheit(temperature_c))
    scale = sucrose_kg_per_m3(solids, temperature_c) / nominal
    return lb_per_gal * KG_PER_LB / L_PER_US_GAL * scale


def density_kg_per_l(syrup: Syrup, temperature_c: float = REFERENCE_C) -> float:
    """Density of a syrup, kg/L: the label's if given, else by the table of its kind.

    An invert syrup without a label density is estimated; any ``other`` kind is refused with
    ``ValueRefused``, as are solids and temperatures outside the tables.
    """
    if syrup.density_kg_per_l is not None:
        return syrup.density_kg_per_l
    if syrup.kind is SyrupKind.SUCROSE:
        return sucrose_kg_per_m3(syrup.solids, temperature_c) / 1000
    if syrup.kind is SyrupKind.INVERT:
        return sucrose_kg_per_m3(syrup.solids, temperature_c) / 1000 * INVERT_TO_SUCROSE
    if syrup.kind in HFCS_SOLIDS:
        return hfcs_kg_per_l(syrup.kind, syrup.solids, temperature_c)
    raise ValueRefused(f"no table gives the density of a syrup of kind {syrup.kind.value}")


def sugar_kg_per_l(syrup: Syrup) -> float:
    """Sugar (dissolved solids) in a litre of syrup, kg: density times mass fraction."""
    return density_kg_per_l(syrup, _temperature_c(syrup)) * syrup.solids


def density_is_estimated(syrup: Syrup) -> bool:
    """Whether neither a label nor a published table stands behind the density."""
    if syrup.kind is not SyrupKind.INVERT or syrup.density_kg_per_l is None:
        return syrup.kind is SyrupKind.INVERT
    estimate = density_kg_per_l(replace(syrup, density_kg_per_l=None), _temperature_c(syrup))
    return abs(estimate - syrup.density_kg_per_l) < 1e-9


def resolve(operation: Operation) -> Operation:
    """The operation with ``density_kg_per_l`` and ``price_per_l`` of every syrup filled in.

    Density at the syrup's own temperature, else at 20 degrees C. ``price_per_l`` stays None when no
    price was given. Raises ``InputError`` naming every syrup whose density cannot be had.
    """
    problems: list[InputProblem] = []
    syrups: dict[str, Syrup] = {}
    for syrup_id, syrup in operation.syrups.items():
        try:
            syrups[syrup_id] = _resolved(syrup)
        except ValueRefused as error:
            problems.append(_problem(syrup, str(error)))
    if problems:
        raise InputError(problems)
    return operation if syrups == dict(operation.syrups) else replace(operation, syrups=syrups)


def _resolved(syrup: Syrup) -> Syrup:
    density = density_kg_per_l(syrup, _temperature_c(syrup))
    price = syrup.price_per_l
    if price is None and syrup.price_per_kg is not None:
        price = syrup.price_per_kg * density
    return replace(syrup, density_kg_per_l=density, price_per_l=price)


def _problem(syrup: Syrup, wrong: str) -> InputProblem:
    return InputProblem(
        code="syrup_density",
        file="syrups.csv",
        row=0,
        column="density_kg_per_l",
        value=syrup.syrup_id,
        wrong=wrong,
        remedy="give density_kg_per_l or density_lb_per_gal from the label",
    )


def _temperature_c(syrup: Syrup) -> float:
    return REFERENCE_C if syrup.temperature_c is None else syrup.temperature_c
