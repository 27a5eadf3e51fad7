"""The store: one DuckDB file with a shop's catalog, vehicles, jobs and readings.

Its packages import one way: `sharing`, `maintenance` > `documents` > `readings` > `importing` > `mapping` > `catalog`,
`records` > `lists` > `database`. In a chain, many such files share everything but the catalog through one PostgreSQL:
`matcher.store.chain`, which only `database.opening` imports.
"""
