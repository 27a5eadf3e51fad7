"""A supplier's file as it is: its format, encoding, sheets, lines and cells; nothing is decided about it here."""
