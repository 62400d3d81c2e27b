"""GPX files against the published schema: Topografix, GPX 1.1 Schema, topografix.com/GPX/1/1/gpx.xsd.

The schema text in ``data/gpx-1.1.xsd`` is the published one, as redistributed in a PyPI package.
"""

from __future__ import annotations

import xml.etree.ElementTree as ET
from dataclasses import replace
from pathlib import Path

import pytest
import xmlschema

from routing.domain.places import Position
from routing.reports.export.exports import gpx
from tests.support.builders import Case, big_plan, small_case
from tests.support.odd import odd_case

SCHEMA = xmlschema.XMLSchema(Path(__file__).parent / "data" / "gpx-1.1.xsd")


def far_case() -> Case:
    """A plan at the edges of the globe, where a coordinate may be written in a way the schema refuses."""
    case = small_case()
    places = [(0.0000004, 180.0), (-90.0, -0.0000001), (90.0, -180.0), (1e-6, 1e-5)]
    route = case.plan.routes[0]
    stops = tuple(
        replace(stop, lat=places[i % 4][0], lon=places[i % 4][1]) for i, stop in enumerate(route.stops)
    )
    yards = {k: replace(y, position=Position(0.0, 180.0)) for k, y in case.operation.yards.items()}
    plan = replace(case.plan, routes=(replace(route, stops=stops),))
    return Case(replace(case.operation, yards=yards), case.travel, plan)


@pytest.mark.parametrize("make", [small_case, odd_case, far_case, lambda: big_plan(60)])
def test_gpx_file_obeys_the_published_schema(make: object) -> None:
    case = make()  # type: ignore[operator]
    SCHEMA.validate(ET.fromstring(gpx(case.operation, case.plan)))


def test_plan_without_a_route_obeys_it_too() -> None:
    case = small_case()
    SCHEMA.validate(ET.fromstring(gpx(case.operation, replace(case.plan, routes=(), unserved=()))))


def test_the_schema_refuses_what_is_wrong() -> None:
    case = small_case()
    good = gpx(case.operation, case.plan)
    for wrong in (
        good.replace('lat="44.4"', 'lat="144.4"', 1),
        good.replace("<rte>", "<road>").replace("</rte>", "</road>"),
    ):
        with pytest.raises(xmlschema.XMLSchemaValidationError):
            SCHEMA.validate(ET.fromstring(wrong))
