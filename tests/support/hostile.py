"""A plan whose names would break a careless page, with every status that a map must show."""

from __future__ import annotations

from dataclasses import replace

from routing.domain.places import Health
from routing.domain.plan import Unserved, Warning_
from tests.support.builders import Case, small_case

NAMES = {
    "Y1": "<script>document.title='owned'</script>",
    "Y2": "\"quoted\" & 'single' `back` ${1}",
    "Y3": "عسل الجبل‮ left",
    "Y4": "line one\nline two",
    "Y5": "🐝 </script><!-- <b>bold</b>",
    "Y6": "N" * 200,
    "Y9": "=1+1,comma \u2028 \\u003c",
}
NOTE = "<img src=x onerror=\"document.title='owned'\">"


def hostile_case() -> Case:
    """The small plan with hostile names, a starving stop, one fed in part, one starving and not fed."""
    case = small_case()
    yards = {
        key: replace(
            yard,
            name=NAMES.get(key, yard.name),
            health=Health.WATCH if key == "Y5" else yard.health,
        )
        for key, yard in case.operation.yards.items()
    }
    name = "</title><script>document.title='owned'</script>"
    operation = replace(case.operation, yards=yards, name=name)
    big, *rest = case.plan.routes
    stops = tuple(
        replace(stop, starving=stop.place_id == "Y3", notes=(NOTE,) if stop.place_id == "Y2" else ())
        for stop in big.stops
    )
    unserved = (
        *(left for left in case.plan.unserved if left.yard_id != "Y8"),
        Unserved("Y1", "stock_short", "North Tank is short of S67", "fill it before ten", 12.0, 18, 90.0),
        Unserved("Y8", "no_truck_fits", "no truck fits the bridge", "hire a lighter one", 2.0, 24, 1.0, True),
    )
    warnings = (*case.plan.warnings, Warning_("starving_unserved", "Nobody reaches it today.", "Y8"))
    plan = replace(
        case.plan, operation=name, routes=(replace(big, stops=stops), *rest), unserved=unserved,
        warnings=warnings,
    )  # fmt: skip
    return Case(operation, case.travel, plan)
