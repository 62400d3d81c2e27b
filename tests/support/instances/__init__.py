"""Published routing instances: read, stated as problems, solved and checked."""
