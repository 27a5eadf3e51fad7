"""Which parts go into this car, within what its owner allows, and what each wish costs."""
