"""Prove the optimum of a small day by listing every round worth judging."""
