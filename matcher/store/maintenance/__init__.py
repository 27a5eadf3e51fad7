"""A store checked against what a store must be, and its file backed up and taken back."""
