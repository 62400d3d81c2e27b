"""What the terminal shows."""
