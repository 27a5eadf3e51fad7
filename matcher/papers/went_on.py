"""A warning about an order or signature despite open points, with name and reason."""

from __future__ import annotations

from matcher.papers.model import Block, Items, Para
from matcher.papers.writer import Writer


def went_on(writer: Writer, what: str) -> list[Block]:
    """Return the last valid order or signature that was given despite open points."""
    since = "" if writer.dossier.choice is None else writer.dossier.choice.chosen_at
    found = [one for one in writer.dossier.went_on if one.what == what and one.at >= since]
    if not found:
        return []
    last = found[-1]
    told = writer.say(
        f"went_on.{what}", by=last.by, date=writer.date(last.at[:10]), note=last.note, count=str(len(last.points))
    )
    figures = [writer.wanted(point.subject) for point in last.points if point.what == "figure"]
    named = dict.fromkeys(f"{writer.where(one)}: {writer.what(one)}" for one in figures)
    others = len(last.points) - len(figures)
    more = [writer.say("went_on.others", count=str(others))] if others else []
    return [Para(text=told, tone="warn"), Items(items=(*named, *more))]
