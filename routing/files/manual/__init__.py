"""Generate the manual of every input column."""
