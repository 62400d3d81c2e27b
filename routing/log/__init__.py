"""What the day log means: notes become the state of trucks, tanks, yards and stock."""
