"""Drives from an embedded routing engine."""
