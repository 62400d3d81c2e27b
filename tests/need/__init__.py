"""Tests of need."""
