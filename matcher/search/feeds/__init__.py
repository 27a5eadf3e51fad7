"""Feeds: plans, links, and the slots of the parts on them."""
