"""Convert old maps, which cut cells by regular expressions, to equivalent templates.

Only forms that the program proposed itself, or as simple ones, have templates; for any other, the error shows what to
write instead.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from itertools import product
from typing import Any

from matcher.errors import FileRefused, Problem

_UNIT_GROUP = re.compile(r" ?\(\?P<unit>[^()]*\)")
_NOTED = re.compile(r"\(\?P<notes>((?:[^()]|\([^()]*\))*\(\?P<fuse_a>[^()]*\))\)")
_NAMED = re.compile(r"\(\?P<(\w+)>((?:[^()\\]|\\.|\((?:[^()\\]|\\.)*\))*)\)")
_GROUP = re.compile(
    r"(?:\\[d.]|[\d.,/⁄\- ^x\[\]?+*|()\"]|ohms\?|Ω|L|cu|ft|Hz|mm|cm2?|inch(?:es)?|in|sq|lit(?:re|er)s\?|[mWVA]\??)*"
    r"|\w+(?:\|\w+)*\|?-?|\.[*+]"
)
"""Pattern of a named group: a number with its unit, one of some words, or any text."""
_CHOICES: tuple[tuple[str, tuple[str, ...]], ...] = (
    (r"(?: \?)?\((?:\?:)?-\|to\|bis\)(?: \?)?", (" - ", " to ", " bis ")),
    (r"(?: \?)?\[@\(\](?: \?)?(.*?)\\\)\?", (r" @ \1", r" (\1)")),
    (r"\( \?\\\(\.\*max\\\)\)\?", ("", " ({any} max)")),
    (r"\(([a-z]+ )\)\?", ("", r"\1")),
)
"""Forms that need several templates, and their alternatives."""
_STEPS: tuple[tuple[str, str], ...] = (
    (r"\(ohms\?\|Ω\)", "ohm"),
    (r" ?/\?(?=\{)", " "),
    (r"\\d\+(?:\(\[\.,\]\\d\+\)\?)?|\[\\d\.,\]\+", "{any}"),
    (r" \?[AW]\?", ""),
    (r"\\b|\^|\$$", ""),
    (r"\\\.\?", ""),
    (r"\\([()+*.])", r"\1"),
    (r" \?", " "),
)
_LEFT = re.compile(r"\\|[\^$|?\[\]]|[*+](?! ?\{)(?=.)|\.\*|\.\+")


def is_old_form(document: object) -> bool:
    """Whether a map cuts cells by regular expressions."""
    return next(_old_lists(document), None) is not None


def _old_lists(data: Any) -> Iterator[tuple[dict[str, Any], str]]:
    """Yield every list of the old form: the object that has it, and its key."""
    inner = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    for key, value in inner:
        old = isinstance(value, list) and any(isinstance(one, dict) and "match" in one for one in value)
        if old and key in ("patterns", "find", "skip"):
            yield data, key
        else:
            yield from _old_lists(value)


def converted(document: dict[str, Any], place: str) -> dict[str, Any]:
    """Return a map with templates instead of regular expressions.

    Raises
    ------
    FileRefused
        with every expression without an equivalent template.
    """
    made: dict[str, Any] = json.loads(json.dumps(document))
    problems: list[Problem] = []
    for holder, key in list(_old_lists(made)):
        entries = [new for one in holder.pop(key) for new in _entries(one, key, place, problems)]
        holder["templates" if key == "patterns" else key] = entries
    if problems:
        raise FileRefused(
            f"the map in {place} has regular expressions, which maps hold no more",
            fix="write templates, such as {cutout_w_mm} x {cutout_h_mm}; boltback catalog map FILE proposes them",
            problems=problems,
        )
    return made


def _entries(one: Any, key: str, place: str, problems: list[Problem]) -> list[dict[str, Any]]:
    expression = one.get("match") if isinstance(one, dict) else None
    if not isinstance(expression, str):
        return [one]
    rest = {name: value for name, value in one.items() if name != "match"}
    templates = templates_of(expression)
    if not templates or (key == "skip" and "{" in "".join(templates)):
        problems.append(Problem("words and names in braces", file=place, column=key, found=expression))
    return [rest | {"starts" if key == "skip" else "template": text} for text in templates]


def templates_of(expression: str) -> list[str]:
    r"""Return the templates equivalent to an expression.

    >>> templates_of(r"(?P<rms_w>\d+([.,]\d+)?) ?/ ?\d+([.,]\d+)? ?W")
    ['{rms_w} / {any} W']
    """
    text = _NOTED.sub(lambda found: found[1], _UNIT_GROUP.sub("", expression))
    if not all(_GROUP.fullmatch(inner) for _, inner in _NAMED.findall(text)):
        return []
    text = _NAMED.sub(lambda found: f"{{{found[1]}}}", text)
    used = [(form, ways) for form, ways in _CHOICES if re.search(form, text)]
    found = []
    for chosen in product(*(ways for _, ways in used)):
        template = text
        for (form, _), way in zip(used, chosen, strict=True):
            template = re.sub(form, way, template)
        found.append(_plain(template))
    return [one for one in found if one] if all(found) else []


def _plain(text: str) -> str:
    """Return the text that a plain expression matches; empty if it is not plain."""
    for form, plain in _STEPS:
        text = re.sub(form, plain, text)
    text = " ".join(text.split())
    return "" if _LEFT.search(text) else text
