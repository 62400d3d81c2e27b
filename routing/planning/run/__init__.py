"""Run the search: workers, seeds, budgets, interrupts and bounds."""
