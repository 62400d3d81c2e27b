"""From need to plan."""
