"""What is made once, however often it is asked for."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any


class Kept(dict[object, Any]):
    """What was made so far, by what tells it from all else.

    >>> kept = Kept()
    >>> kept.once("sum", sum, [1, 2]), kept.once("sum", sum, [3, 4])
    (3, 3)
    """

    def once(self, key: object, make: Callable[..., Any], *what: Any) -> Any:
        """What was made under a key; made of these things when it is first asked for."""
        if key not in self:
            self[key] = make(*what)
        return self[key]
