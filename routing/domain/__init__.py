"""What the trade is made of: yards, syrups, trucks, days and plans, with no I/O and no solver."""
