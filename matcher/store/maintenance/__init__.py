"""Check, back up and restore a store."""
