"""What the audit reads a plan with: its own clock, loads and stores."""
