"""Judge a route: loads, clock, cost, and which rule it breaks."""
