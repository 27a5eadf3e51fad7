"""Publish a catalog into a folder, and attach it in other shops."""
