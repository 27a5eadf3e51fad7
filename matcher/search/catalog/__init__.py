"""The store's data that questions read, as arrays."""
