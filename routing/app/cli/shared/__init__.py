"""What all commands share: their options, how dates are read, and the screen."""
