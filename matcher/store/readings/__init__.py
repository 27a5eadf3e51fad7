"""Readings of a part, an opening, a vehicle or a job: all are kept, the latest counts."""
