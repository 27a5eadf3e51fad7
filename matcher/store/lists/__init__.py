"""A supplier's file: format, encoding, sheets, lines and cells, without interpretation."""
