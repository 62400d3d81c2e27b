"""From need to plan: the routing problem, its engines, exact timing, and the independent audit."""
