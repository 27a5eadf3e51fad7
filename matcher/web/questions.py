"""Questions to the shop that the page sends to another process."""

from __future__ import annotations

import json
from collections.abc import Callable, Hashable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Concatenate, ParamSpec

from matcher import Shop

P = ParamSpec("P")
LOOKING, STOP = "looking.txt", "stop"
"""Files beside a ranker's copy of the store: the progress of its search, and a request to stop."""
WATCHED = {
    Shop.options: ("tell", "is_stopped"),
    Shop.what_if: ("tell", "is_stopped"),
    Shop.measure: ("tell", "is_stopped"),
}
"""Methods of the shop with progress and stop."""


@dataclass(frozen=True, slots=True)
class PageQuestion:
    """A question to the shop about one job.

    Two questions are equal if everything except ``beside`` is equal: its values have to follow from the rest.
    """

    method: Callable[..., Any]
    """A method of the shop or of one of its parts, such as ``Shop.options`` or ``ShopChoices.changes``."""
    job_id: str
    given: str = "{}"
    """Arguments by name, as JSON."""
    about: tuple[Hashable, ...] = ()
    """Further parts of its key."""
    papers: bool = False
    """Whether its answer also depends on the choice and set-up."""
    beside: Mapping[str, Any] = field(default_factory=dict, compare=False)
    """Answers given as arguments."""

    def stamp(self, shop: Shop) -> str:
        """Return the fingerprint of its answer in the shop's current state."""
        return shop.stamp(self.job_id, papers=self.papers)

    def ask(self, shop: Shop, folder: Path) -> Any:
        """Return its answer. A file of the folder shows its progress, and another file there ends the search.

        A search that was ended answers with its results so far.
        """
        watch = {"tell": (folder / LOOKING).write_text, "is_stopped": (folder / STOP).exists}
        watched = {name: watch[name] for name in WATCHED.get(self.method, ())}
        name = self.method.__name__
        owner = next(one for one in (shop, *vars(shop).values()) if getattr(type(one), name, None) is self.method)
        return self.method(owner, self.job_id, **json.loads(self.given), **self.beside, **watched)


def question(
    method: Callable[Concatenate[Shop, str, P], Any], job_id: str, *_: P.args, **given: P.kwargs
) -> PageQuestion:
    """Return a question with plain arguments; those that are None are left out."""
    told = {name: value for name, value in given.items() if value is not None}
    return PageQuestion(method, job_id, json.dumps(told, sort_keys=True))


@dataclass(frozen=True, slots=True)
class Reply:
    """Answer to a question, or its error."""

    stamp: str
    """Stamp of the store's state."""
    answer: Any = None
    error: Exception | None = None
    size: int = 0
    """Size of the answer in bytes."""
