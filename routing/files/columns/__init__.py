"""Every column and setting as data: name, unit, bounds, default, meaning."""
