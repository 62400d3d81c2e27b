"""Drives by straight line times circuity."""
