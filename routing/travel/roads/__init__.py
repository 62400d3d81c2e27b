"""Drives on the road graph."""
