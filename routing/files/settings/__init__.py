"""Read and edit operation.toml."""
