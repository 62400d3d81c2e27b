"""Quality and timing of the planner: published instances, feeding days, other engines beside it."""
