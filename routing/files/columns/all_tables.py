"""Gather all tables of an operation, in the order in which they are read."""

from __future__ import annotations

from routing.files.columns.column import Table
from routing.files.columns.fleet import TANKS, TRUCKS
from routing.files.columns.places import COLONIES, DEPOTS, STOCK, YARDS
from routing.files.columns.supplies import FEEDERS, SYRUPS

TABLES: tuple[Table, ...] = (YARDS, COLONIES, FEEDERS, SYRUPS, TRUCKS, TANKS, DEPOTS, STOCK)
