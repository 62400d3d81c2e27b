"""Ruin and recreate under simulated annealing, each route judged exactly."""
