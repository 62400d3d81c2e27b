"""Print run sheets as HTML and PDF."""
