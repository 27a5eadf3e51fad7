"""Questions that the page asks in another process: a question to the shop, as one process sends it to another."""

from __future__ import annotations

import json
from collections.abc import Callable, Hashable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Concatenate, ParamSpec

from matcher import Shop

P = ParamSpec("P")
LOOKING, STOP = "looking.txt", "stop"
"""Files beside a ranker's copy of the store: how far its search is, and whether it is to end."""
WATCHED = {
    Shop.options: ("tell", "is_stopped"),
    Shop.what_if: ("tell", "is_stopped"),
    Shop.measure: ("tell", "is_stopped"),
}
"""By method of the shop, what can be followed and ended while it is worked out."""


@dataclass(frozen=True, slots=True)
class PageQuestion:
    """Something to be asked of the shop about one job.

    Two questions are one where all but ``beside`` is the same: what is given beside has to follow from the rest.
    """

    method: Callable[..., Any]
    """A method of the shop or of one of its parts, such as ``Shop.options`` or ``ShopChoices.changes``."""
    job_id: str
    given: str = "{}"
    """Its arguments, by name, as JSON."""
    about: tuple[Hashable, ...] = ()
    """Further parts of its key."""
    papers: bool = False
    """Whether its answer depends on what was chosen and set up, too."""
    beside: Mapping[str, Any] = field(default_factory=dict, compare=False)
    """Answers that it is asked with."""

    def stamp(self, shop: Shop) -> str:
        """Return the fingerprint of its answer in a shop as it is now."""
        return shop.stamp(self.job_id, papers=self.papers)

    def ask(self, shop: Shop, folder: Path) -> Any:
        """Return its answer. A file of the folder shows its progress, and another file there ends the search.

        A search that was ended answers with what it has found so far.
        """
        watch = {"tell": (folder / LOOKING).write_text, "is_stopped": (folder / STOP).exists}
        watched = {name: watch[name] for name in WATCHED.get(self.method, ())}
        name = self.method.__name__
        owner = next(one for one in (shop, *vars(shop).values()) if getattr(type(one), name, None) is self.method)
        return self.method(owner, self.job_id, **json.loads(self.given), **self.beside, **watched)


def question(
    method: Callable[Concatenate[Shop, str, P], Any], job_id: str, *_: P.args, **given: P.kwargs
) -> PageQuestion:
    """A question that is asked with no more than plain values; those that are None are left out."""
    told = {name: value for name, value in given.items() if value is not None}
    return PageQuestion(method, job_id, json.dumps(told, sort_keys=True))


@dataclass(frozen=True, slots=True)
class Reply:
    """Answer to a question, or its error."""

    stamp: str
    """The mark of what it was asked on."""
    answer: Any = None
    error: Exception | None = None
    size: int = 0
    """Bytes of the answer on its way."""
