"""CSV, workbook, GeoJSON, GPX and the feed record."""
