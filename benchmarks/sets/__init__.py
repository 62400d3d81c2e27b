"""Every contestant on every published set, at equal processor time."""
