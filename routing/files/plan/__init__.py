"""Read and write plan.json."""
