"""One DuckDB file: opening, transactions, migration, index, and the author of each change."""
