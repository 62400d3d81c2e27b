"""What a run sheet says."""
