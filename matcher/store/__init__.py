"""The store: one DuckDB file that holds a shop's catalog, vehicles, jobs and readings.

Its rooms import one way: `sharing`, `maintenance` > `documents` > `readings` > `importing` > `mapping` > `catalog`,
`records` > `lists` > `database`. In a chain many such files keep all but the catalog in one PostgreSQL:
`matcher.store.chain`, which `database.opening` alone looks for.
"""
