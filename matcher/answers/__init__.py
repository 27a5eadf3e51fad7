"""Explanations as data, and the only place that turns them into sentences."""
