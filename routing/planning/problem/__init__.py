"""State a feeding day as an integer problem: visits, trucks, depots, tanks."""
