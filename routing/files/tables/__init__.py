"""Read rows of CSV and workbook sheets into checked values."""
