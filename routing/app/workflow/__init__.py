"""Gather, decide, apply: what each command does."""
