"""Names that break careless output, and a plan that carries them."""

from __future__ import annotations

from dataclasses import replace

from routing.domain.clock import TimeWindow
from routing.domain.places import Health
from routing.domain.plan import Pour, Stop, Warning_
from tests.support.builders import Case, small_case

ODD_NAMES = {
    "Y1": "<script>alert('bees')</script>",
    "Y2": "Quote \" apostrophe ' ampersand & </style><b>",
    "Y3": "Bee \U0001f41d yard \u2764\ufe0f",
    "Y4": "W" * 200,
    "Y5": "\u05de\u05db\u05d5\u05d5\u05e8\u05ea \u0627\u0644\u0646\u062d\u0644",
    "Y6": "First line\nsecond line, with comma\r\nthird",
    "Y7": "=HYPERLINK(1)",
    "Y8": "bell \x07 null \x00 surrogate \ud83d override \u202e end",
    "Y9": "@SUM(A1) \u8702\u5834",
}


def odd_case() -> Case:
    """The small plan with an odd name, note, gate and directions at every yard."""
    case = small_case()
    yards = {
        yard_id: replace(
            yard,
            name=ODD_NAMES[yard_id],
            gate=ODD_NAMES[yard_id],
            directions="+1 " + ODD_NAMES[yard_id],
            note="-" + ODD_NAMES[yard_id],
            hazards="dog " * 400,
            registration_id="\t=1+1",
        )
        for yard_id, yard in case.operation.yards.items()
    }
    operation = replace(case.operation, yards=yards, name="A & B <i>\u202eBees\n\U0001f36f")
    warnings = (*case.plan.warnings, Warning_("odd", "<img src=x onerror=alert(1)>", "Y1"))
    return Case(operation, case.travel, replace(case.plan, warnings=warnings, operation=operation.name))


def _filled(stop: Stop, pours: tuple[Pour, ...]) -> Stop:
    return replace(stop, pour=pours, starving=True) if stop.kind == "yard" else stop


def fullest_case() -> Case:
    """Every box of the small plan filled with the widest letter, many groups, flags and warnings."""
    case = small_case()
    wide = "W" * 600
    yards = {
        yard_id: replace(
            yard, name="W" * 119, gate=wide, directions=wide, contact=wide, hazards=wide, note=wide,
            registration_id=wide, health=Health.QUARANTINE, level=False, max_gross_kg=9999.0,
            max_length_m=9.0, trucks=("BIG", "SMALL"), windows=(TimeWindow(0, 86_400),),
        )
        for yard_id, yard in case.operation.yards.items()
    }  # fmt: skip
    pours = tuple(
        Pour("W" * 80, "W" * 80, syrup_id, 1, 1.0, "W" * 80)
        for syrup_id in ("S67", "HF55")
        for _ in range(20)
    )
    routes = tuple(
        replace(
            route,
            stops=tuple(
                replace(s, pour=pours, starving=True) if s.kind == "yard" else s for s in route.stops
            ),
        )
        for route in case.plan.routes
    )
    warnings = tuple(Warning_("w", f"{i} {wide}", yard_id) for yard_id in yards for i in range(10))
    plan = replace(case.plan, routes=routes, warnings=warnings)
    return Case(replace(case.operation, yards=yards), case.travel, plan)
