"""Complete what a note leaves out: from which tank, how much, into which group."""
