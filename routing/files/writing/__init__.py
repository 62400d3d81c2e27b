"""Write files so that nothing is half-written."""
