"""Pure computations of the trade: no store, no screens."""
