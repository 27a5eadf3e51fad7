"""A store that is in a chain: its vehicles, jobs, choices and readings are kept in the chain's PostgreSQL.

The store's file stays: it holds the catalog, and a copy of all that the chain keeps, so that every question is asked of
the file, by the same SQL. Before a question the file is brought up to the chain's last change (`mirror`); a change has
its turn among those of all counters, and what it altered is kept in PostgreSQL before it is in the file (`joined`).
"""
