"""Plans, needs and the day log as pandas DataFrames: tidy columns in SI, units in their names."""
