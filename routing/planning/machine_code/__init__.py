"""Compile functions over arrays to machine code, and know where that code is kept."""
