"""Draw a plan as one HTML file that opens with the network cable pulled."""

from __future__ import annotations

from dataclasses import replace

from markupsafe import Markup

from routing.domain.operation import Operation
from routing.domain.plan import Plan
from routing.domain.travel import Travel
from routing.reports.map.changes import change_groups
from routing.reports.map.data import map_data
from routing.reports.map.page import folium_parts, policy, render, script_json, scripts, stylesheet
from routing.reports.map.panel import LeftYard, cautions, left_yards, sections, totals
from routing.reports.map.rows import Row, Rows
from routing.reports.map.tiles import TileServer
from routing.reports.words.bound import how_good
from routing.reports.words.format import Units
from routing.reports.words.names import day_text
from routing.reports.words.truck_style import TruckStyle, style_of


def map_html(operation: Operation, plan: Plan, travel: Travel, tiles: TileServer | None = None) -> str:
    """The map of a plan, its stops, cautions and totals, as the text of a self-contained HTML file.

    ``tiles``: a server of map pictures to switch on; without it the file holds no address.
    """
    styles: list[TruckStyle] = [style_of(operation, route.truck_id) for route in plan.routes]
    writer = Rows(operation, plan)
    rows = [
        writer.of(route, style, i) for i, (route, style) in enumerate(zip(plan.routes, styles, strict=True))
    ]
    unfed = _showing(left_yards(operation, plan, unfed=True), rows)
    map_div, folium_script = folium_parts(len(plan.routes))
    page_scripts = scripts(folium_script)
    day = day_text(plan.date)
    return render(
        "page.html",
        title=f"{plan.operation}, feeding day {day}: map",
        policy=policy(page_scripts, tiles.origin if tiles else ""),
        tiles=tiles,
        css=Markup(stylesheet()),
        day=day,
        operation=plan.operation,
        plan_id=plan.plan_id,
        timezone=plan.timezone,
        totals=totals(operation, plan),
        how_good=how_good(plan, Units(operation.units, operation.currency)),
        cautions=cautions(operation, plan, travel),
        sections=[
            replace(section, chart=Markup(section.chart))
            for section in sections(operation, plan, styles, rows)
        ],
        replaces=plan.replaces,
        changes=change_groups(operation, plan, rows, unfed),
        unfed=unfed,
        nothing=left_yards(operation, plan, unfed=False),
        travel_note=f"Travel: {travel.provenance.method}, {travel.provenance.note}.",
        map_div=Markup(map_div.strip()),
        data=script_json(map_data(operation, plan, travel, styles, rows) | _tiles(tiles)),
        scripts=[Markup(script) for script in page_scripts],
    )


def _tiles(tiles: TileServer | None) -> dict[str, dict[str, str]]:
    return {"tiles": {"template": tiles.template, "credit": tiles.credit}} if tiles else {}


def _showing(yards: list[LeftYard], rows: list[list[Row]]) -> list[LeftYard]:
    """A yard fed in part has no marker of its own: its row leads to the last stop there."""
    stops = {row.place_id: row.key for truck_rows in rows for row in truck_rows if row.kind == "yard"}
    return [replace(yard, shows=stops.get(yard.yard_id, yard.key)) for yard in yards]
