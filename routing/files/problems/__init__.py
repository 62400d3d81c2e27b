"""Problems with input: each with its code, place, value and remedy."""
