"""A store that belongs to a chain: its vehicles, jobs, choices and readings are kept in the chain's PostgreSQL.

The store's file remains: it has the catalog, and a copy of the chain's data, so that every question reads the file by
the
same SQL. Before a question, the file is updated to the chain's last change (`mirror`). A change takes turns with those
of
all counters, and is committed to PostgreSQL before it is in the file (`joined`).
"""
