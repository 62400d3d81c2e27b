"""Show a plan: map, run sheets, terminal, exports."""
