"""A catalog published into a folder, and attached by other shops."""
