"""The faces of feedround: the workflow behind every verb, and the command line."""
