"""feedround from Python and notebooks: the verbs of the command line, with DataFrames for tables."""
