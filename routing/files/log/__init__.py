"""The day log in SQLite."""
