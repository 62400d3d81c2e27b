"""Tests of domain."""
