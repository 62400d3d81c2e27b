"""Read and write everything that is kept in files."""
