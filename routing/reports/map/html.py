"""Draw a plan as one HTML file that opens with the network cable pulled."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from markupsafe import Markup

from routing.domain.operation import Operation
from routing.domain.plan import Plan
from routing.domain.travel import Travel
from routing.reports.map.cautions import cautions
from routing.reports.map.changes import change_groups
from routing.reports.map.data import map_data
from routing.reports.map.page import folium_parts, policy, render, script_json, scripts, stylesheet
from routing.reports.map.panel import figures, left_groups, sections, totals
from routing.reports.map.rows import Rows
from routing.reports.map.tiles import TileServer
from routing.reports.words.bound import how_good
from routing.reports.words.format import Units
from routing.reports.words.names import day_text, issue_text
from routing.reports.words.route_day import RouteDay
from routing.reports.words.truck_style import TruckStyle, style_of


def map_html(
    operation: Operation,
    plan: Plan,
    travel: Travel,
    tiles: TileServer | None = None,
    made_at: datetime | None = None,
) -> str:
    """The map of a plan, its stops, cautions and totals, as the text of a self-contained HTML file.

    ``tiles``: a server of map pictures to switch on; without it the file holds no address. ``made_at``: the
    moment the plan was made, printed where it is given.
    """
    styles: list[TruckStyle] = [style_of(operation, route.truck_id) for route in plan.routes]
    rows = [Rows(RouteDay(operation, plan, route), i).all() for i, route in enumerate(plan.routes)]
    left = left_groups(operation, plan, rows)
    map_div, folium_script = folium_parts()
    page_scripts = scripts(folium_script)
    day = day_text(plan.date)
    warned = cautions(operation, plan, travel)
    return render(
        "page.html",
        title=f"{plan.operation}, feeding day {day}: map",
        policy=policy(page_scripts, tiles.origin if tiles else ""),
        tiles=tiles,
        us=operation.units == "us",
        css=Markup(stylesheet()),
        day=day,
        operation=plan.operation,
        plan_id=plan.plan_id,
        issue=issue_text(plan, made_at),
        timezone=plan.timezone,
        figures=figures(operation, plan),
        totals=totals(operation, plan),
        how_good=how_good(plan, Units(operation.units, operation.currency)),
        cautions=warned,
        alarms=[caution for caution in warned if caution.loud],
        sections=[
            replace(section, chart=Markup(section.chart))
            for section in sections(operation, plan, styles, rows)
        ],
        stop_count=sum(len(truck_rows) for truck_rows in rows),
        replaces=plan.replaces,
        changes=change_groups(operation, plan, rows, left[0].yards),
        left=left,
        travel_note=f"Travel: {travel.provenance.method}, {travel.provenance.note}.",
        map_div=Markup(map_div.strip()),
        data=script_json(map_data(operation, plan, travel, styles, rows) | _tiles(tiles)),
        scripts=[Markup(script) for script in page_scripts],
    )


def _tiles(tiles: TileServer | None) -> dict[str, dict[str, str]]:
    return {"tiles": {"template": tiles.template, "credit": tiles.credit}} if tiles else {}
