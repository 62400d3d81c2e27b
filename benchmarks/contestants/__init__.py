"""Other ways to the same end: each is given the same problem and judged by the same exact timing."""
