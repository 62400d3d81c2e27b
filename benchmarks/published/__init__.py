"""Published routing instances, stated as days of rounds with refills and judged on their own terms."""
