"""Drives from a routing server the user names."""
