"""What a shop's data look like: no rules, no SQL, no screens."""
