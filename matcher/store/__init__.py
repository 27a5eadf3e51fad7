"""The store: one DuckDB file that holds a shop's catalog, vehicles, jobs and readings."""
