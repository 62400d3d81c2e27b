"""What stands on top of the map and beside it."""

from __future__ import annotations

from dataclasses import replace

from routing.domain.plan import Warning_
from routing.reports.map.cautions import cautions
from tests.support.builders import small_case


def test_caution_names_its_place_once() -> None:
    case = small_case()
    yard = case.operation.yards["Y1"]
    warned = Warning_("island_road", f"{yard.name}: the nearest road is closed by wet ground", "Y1")
    sick = Warning_("quarantine", f"{yard.name} is under quarantine", "Y1")
    found = cautions(case.operation, replace(case.plan, warnings=(warned, sick)), case.travel)
    assert [(c.where, c.text) for c in found if "quarantine" in c.text] == [("", sick.text)]
    assert [(c.where, c.text) for c in found if "wet" in c.text] == [
        (yard.name, "the nearest road is closed by wet ground")
    ]
