"""The road graph: built from an extract, kept in a file."""
