"""Doubt weights that no truck of the class has: most come from pounds under a header in kilograms.

Classes 1 to 8 by gross weight rating, and the empty weights and payloads of their trucks: U.S. Department of
Energy, Vehicle Technologies Office, Fact 621 (2010), after the National Academy of Sciences (2010).
"""

from __future__ import annotations

from routing.domain.units import KG_PER_LB
from routing.files.problems.problems import Problems
from routing.files.tables.records import Record, Records

CLASSES_LB = (
    (6_000, 0, 0),
    (10_000, 5_000, 6_300),
    (14_000, 7_650, 8_750),
    (16_000, 7_650, 8_750),
    (19_500, 9_500, 10_000),
    (26_000, 11_500, 14_500),
    (33_000, 11_500, 14_500),
    (80_000, 20_000, 26_000),
)
"""Highest gross weight rating, least and greatest empty weight; nothing is published for class 1."""
GEAR_LB = 2_500
"""Tank, pump and crew, which a keeper's tare has in it: common practice, no source."""
LOW, HIGH = 0.8, 1.4
"""How far a tare may lie outside the published range before it is doubted: estimate."""
MOST_PAYLOAD = 0.6
"""Payload as a share of the gross; the published greatest is 0.56, of class 7."""
NO_PAYLOAD = 0.7
"""No truck carries more than this share of its gross: estimate."""
HEAVIEST_RIGID_KG = 32_000.0
"""Four axles in Europe, Directive 96/53/EC, annex I (from memory); a US single truck weighs less."""


def check_class(trucks: Records, truck: Record, gvwr_kg: float, tare_kg: float, problems: Problems) -> None:
    """Doubt one truck's legal weight and tare, in kg, against its class."""
    share = (gvwr_kg - tare_kg) / gvwr_kg
    header, _ = truck.typed("gvwr_kg")
    hint = " (pounds under a header in kg?)" if header.endswith("_kg") else ""
    remedy = f"check gvwr and tare and the units in their headers{hint}"
    if share > MOST_PAYLOAD:
        wrong = f"the truck could carry {share:.0%} of its legal weight; trucks carry at most some 56 %"
        severity = "error" if share > NO_PAYLOAD else "warning"
        trucks.complain(problems, "weight_doubted", truck, "gvwr_kg", wrong, remedy, severity)
    elif gvwr_kg > HEAVIEST_RIGID_KG:
        wrong = "no single truck without a trailer may weigh so much"
        trucks.complain(problems, "weight_doubted", truck, "gvwr_kg", wrong, remedy, "warning")
    elif not _tare_believed(gvwr_kg, tare_kg):
        wrong = "trucks of this legal weight are lighter or heavier than this when empty"
        trucks.complain(problems, "weight_doubted", truck, "tare_kg", wrong, remedy, "warning")


def _tare_believed(gvwr_kg: float, tare_kg: float) -> bool:
    for most_lb, least_lb, greatest_lb in CLASSES_LB:
        if gvwr_kg <= most_lb * KG_PER_LB:
            high_lb = HIGH * greatest_lb + GEAR_LB
            return not greatest_lb or LOW * least_lb <= tare_kg / KG_PER_LB <= high_lb
    return True
