"""Metres and seconds between places."""
