"""The rules about one route, each stated once: loads, clock, cost, stability."""
