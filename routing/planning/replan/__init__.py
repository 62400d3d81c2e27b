"""Plan the rest of a day from where the day log left it."""
