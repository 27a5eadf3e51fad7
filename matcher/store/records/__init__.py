"""Records of the work: choices, set-ups, the log of changes, and the page's data."""
