"""Recognize the columns of a supplier's list: the fields of each, and open questions."""
