"""Carry what was noted over to the next day: what was fed, and what tanks and depots hold."""
