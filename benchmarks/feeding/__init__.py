"""Days of feeding to plan: the demo, and invented operations of any size from a seed."""
