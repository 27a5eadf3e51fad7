"""One DuckDB file: opened, changed in a transaction, brought to today's format, indexed, and who changed it."""
