"""The columns of a supplier's list recognized: to which fields each goes, and what has to be asked."""
