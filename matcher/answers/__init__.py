"""Explanations as data, and the only place where they become sentences."""
