"""Which parts go into this car, within what its owner allows, and what each wish costs."""

from matcher.shop import Shop

__all__ = ["Shop"]
