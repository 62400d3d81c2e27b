"""PyVRP and OR-Tools, each behind its own door."""
