"""All that questions read of the store, as arrays."""
