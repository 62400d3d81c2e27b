"""How far and how long it is between places: straight-line estimates, legal radii, the choice of method."""
