"""Feeds: plans, links, and the candidates that they connect."""
