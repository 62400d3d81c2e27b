"""Tests of the machine code: where it is kept, and how it is made."""
