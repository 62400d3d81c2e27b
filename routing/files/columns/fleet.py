"""List the columns of trucks and tanks."""

from __future__ import annotations

from routing.domain.units import L_PER_US_GAL
from routing.files.columns.column import Column, Table, ident, number, whole, yes_no
from routing.files.columns.unit_family import fuel_use, length, mass, plain, pumping, volume

TRUCKS = Table(
    "trucks",
    "trucks with their crews",
    ("truck_id",),
    (
        ident("truck_id", "id of the truck"),
        ident("start_depot", "depot it starts from", "depots"),
        ident("end_depot", "depot it ends at", "depots", False, default_text="the start_depot"),
        number("gvwr_kg", mass("gvwr"), "legal gross weight", 500, 60_000, required=True),
        number(
            "tare_kg",
            mass("tare"),
            "weight from a scale ticket: crew, fuel, pump, empty tanks in; syrup and pails out",
            300,
            60_000,
            required=True,
        ),
        number("fuel_empty_l_per_km", fuel_use("empty"), "fuel use without a load", 0.02, 2.0, required=True),
        number(
            "fuel_full_l_per_km",
            fuel_use("full"),
            "fuel use at the legal gross weight",
            0.02,
            2.0,
            default_text="empty miles per gallon x 0.80 (estimate)",
        ),
        whole("crew", "crew", "people aboard, driver counted", 1, 12, required=True),
        number("length_m", length("length"), "length, for yards with max_length", 2, 30),
        number("height_m", length("height"), "height with its load, for low bridges", 1, 5),
        number("width_m", length("width"), "width with its mirrors, for narrow roads", 1, 4),
        number("axle_kg", mass("axle"), "heaviest axle at the legal gross, for posted roads", 300, 30_000),
        number(
            "pump_l_per_s",
            pumping("pump"),
            "rate of its own pump at the yards",
            0.02,
            30,
            default_text="not a limit",
        ),
        whole("pail_slots", "pail_slots", "pails it can carry, full and empty together", 0, 5000, default=0),
        Column("start_s", plain("start"), "time", "start of its shift", default_text="shift.start"),
        Column("end_s", plain("end"), "time", "end of its shift", default_text="shift.end"),
        number("fixed_cost", "fixed_cost", "cost of using it for a day", 0, 1e7, default=0.0),
        number(
            "idle_l_per_h",
            volume("idle", "_per_h"),
            "fuel used while pumping at a stand",
            0,
            30,
            default=round(0.84 * L_PER_US_GAL, 2),
            default_text="0.84 gal/h (delivery truck of 19,500 lb, DOE Fact 861, 2015)",
        ),
        Column(
            "available",
            plain("available"),
            "dates",
            "dates it can be used, joined with `;`; an interval is `2026-09-01/2026-09-30`",
            default=(),
            default_text="every day",
        ),
    ),
)

TANKS = Table(
    "tanks",
    "compartments of the trucks; a truck with pails only needs none",
    ("truck_id", "tank_id"),
    (
        ident("truck_id", "truck it is on", "trucks"),
        ident("tank_id", "id of the tank on that truck"),
        number("capacity_l", volume("capacity"), "what it holds", 1, 30_000, required=True),
        ident("syrup_id", "the only syrup it may hold", "syrups", False, default_text="any, one at a time"),
        number("level_l", volume("level"), "what is in it now", 0, 30_000, default=0.0),
        yes_no("baffled", "has baffles against surge", default=False),
        Column(
            "gauged",
            plain("date"),
            "date",
            "morning that the level is of; the day log goes on from there",
            default_text="before anything was noted",
        ),
    ),
    may_be_empty=True,
)
