"""Invented operations of any size, their days, and their folders."""
