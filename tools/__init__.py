"""What contributors run by hand or by make."""
