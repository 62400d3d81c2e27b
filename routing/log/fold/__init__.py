"""Fold the notes of a day, in order, into what stands where now."""
