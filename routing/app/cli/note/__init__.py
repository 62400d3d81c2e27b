"""The command `feedround note`: a verb for everything that happens on a feeding day."""
