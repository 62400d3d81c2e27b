"""Tests of travel."""
