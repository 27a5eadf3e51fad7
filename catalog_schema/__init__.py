"""Models of a shop's data: no rules, no SQL, no screens."""
