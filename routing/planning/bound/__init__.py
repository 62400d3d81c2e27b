"""Bound the cost of a day from below by column generation."""
