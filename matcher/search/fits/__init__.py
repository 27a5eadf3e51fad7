"""Feasible mountings at an opening: the rules evaluated on one part, or on every part of the catalog."""
