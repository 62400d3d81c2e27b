"""Read a whole operation folder and check it against itself."""
