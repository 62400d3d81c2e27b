"""Compare planned days with real ones and propose better settings."""
