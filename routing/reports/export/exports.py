"""Hand a plan on to other tools: GeoJSON, GPX, CSV and XLSX."""

from __future__ import annotations

from routing.reports.export.csv import stops_csv
from routing.reports.export.geojson import geojson, geojson_text
from routing.reports.export.gpx import gpx
from routing.reports.export.workbook import workbook

__all__ = ["geojson", "geojson_text", "gpx", "stops_csv", "workbook"]
