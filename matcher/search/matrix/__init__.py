"""The fit matrix: every part against every opening of its kind, by the rules of a single fit."""
