"""The store: one DuckDB file that holds a shop's catalog, vehicles, jobs and readings.

In a chain many such files keep all but the catalog in one PostgreSQL: `matcher.store.chain`.
"""
