"""Wordings that all outputs share, each said once."""
