"""How much syrup every yard needs on a date: density, mixing, keeping, stores, uptake and ration."""
