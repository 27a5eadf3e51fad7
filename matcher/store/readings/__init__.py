"""Readings of a part, an opening, a vehicle or a job: kept for good, the latest counts."""
