"""What people, programs and strangers write where a number, a word or a document is expected."""

from __future__ import annotations

import copy
import json
from decimal import Decimal
from typing import Any

from hypothesis import strategies as st

WORDS = [
    *("NaN", "nan", "sNaN", "inf", "-inf", "Infinity", "1e400", "-1e400", "1e-400", "1e999999999", "9" * 5_000),
    *("-5", "0", "-0", "0.0", "1 km", "1000000 mm", "0.000001 um", "1/0", "0/0", "1 1/0 in", "½", "6½ in", '6.5"'),
    *(
        *["1,5", "1,234,5", "1.234,5", "1 234", "1_000", "0x10", "1e5", "+-5", "--5", "5-", "5 5", "5..5", "٣", "１２"],
        *["Ⅻ"],
    ),
    *("4x10", "60 mm ± 2", "60 ± nan", "60±-1", "100 W peak", "4 ohm", "0 ohm", "4Ω", "true", "None", "null"),
    *(
        *["\ud800", "a\udfffb", "\x00", "5\x00", "\x01{}", "\x015", "\ufeff5", "5\u200b", "\u202e5", "\u00a05\u00a0"],
        *["\x1b[31m"],
    ),
    *("=1+1", "'=1+1", "@SUM(1)", "<script>", "'; drop table part; --", "../../etc/passwd", "%s%n", "{{7*7}}"),
    *(
        *["[]", "{}", "[1]", '{"value": 5}', '{"value": NaN}', "", " ", "\t", "\n", '"', ";", ";;", "a;a", ","],
        *["x" * 3_000],
    ),
]
"""Texts, each of which has been an accident somewhere."""

THINGS: list[Any] = [
    *(float("nan"), float("inf"), -float("inf"), 1e308, 5e-324, -0.0, 10**400, -(10**30), 10**9, 1_000_000, -1, 0),
    *(Decimal("NaN"), Decimal("sNaN"), Decimal("Infinity"), Decimal("1E+400"), Decimal("1E-400"), Decimal("-0")),
    *(True, False, None, [], {}, [1], [None], [[[]]], {"value": 5}, {"value": None}, {"value": float("nan")}),
    *({"value": 5, "tol": -1}, {"value": 5, "tol": "nan"}, {"value": 5, "basis": "hearsay"}, {"value": {"value": 5}}),
    *({"tol": 1}, {"value": 5, "more": 1}, {"value": "5 in", "tol": "1 km"}, {"value": 5, "tol": 10**30}),
]
"""What a program hands over."""

texts = st.one_of(st.sampled_from(WORDS), st.text(max_size=40), st.floats().map(repr), st.decimals().map(str))
things = st.one_of(
    st.sampled_from(THINGS), texts, st.floats(), st.integers(), st.decimals(), st.lists(texts, max_size=3)
)


def places(document: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """The path of everything within a document."""
    inner = (
        document.items() if isinstance(document, dict) else enumerate(document) if isinstance(document, list) else ()
    )
    return [path, *(place for key, value in inner for place in places(value, (*path, key)))]


@st.composite
def documents(draw: st.DrawFn, bases: list[Any]) -> str:
    """A document with some of it replaced, taken out, put in twice or put too deep; as text."""
    document: dict[str, Any] = {"": copy.deepcopy(draw(st.sampled_from(bases)))}
    for _ in range(draw(st.integers(1, 3))):
        path = ("", *draw(st.sampled_from(places(document[""]))))
        _spoil(draw, document, path)
    text = as_json(document[""])
    if draw(st.integers(0, 5)) == 0:
        cut = draw(st.integers(0, len(text)))
        text = text[:cut] + draw(texts) + text[cut + draw(st.integers(0, 9)) :]
    return text


def _spoil(draw: st.DrawFn, document: Any, path: tuple[Any, ...]) -> None:
    holder = document
    for key in path[:-1]:
        holder = holder[key]
    way = draw(st.sampled_from(["replace", "replace", "remove", "strange", "twice", "deep"]))
    value = holder[path[-1]]
    if way == "remove" and len(path) > 1:
        del holder[path[-1]]
    elif way == "strange" and isinstance(value, dict):
        value[draw(texts)] = copy.deepcopy(draw(things))
    elif way == "twice" and isinstance(value, list):
        value.extend(copy.deepcopy(value))
    elif way == "deep":
        holder[path[-1]] = json.loads("[" * 60 + "]" * 60)
    else:
        holder[path[-1]] = copy.deepcopy(draw(things))


def as_json(document: Any) -> str:
    return json.dumps(document, default=_plain)


def _plain(value: Any) -> Any:
    number = value if isinstance(value, Decimal) else None
    if number is not None:
        return float(number) if number.is_finite() or number.is_infinite() else str(number)
    return str(value)


@st.composite
def spoiled_bytes(draw: st.DrawFn, whole: list[bytes]) -> bytes:
    """A file with bytes turned over, cut short, or with others in between."""
    found = bytearray(draw(st.sampled_from(whole)))
    for _ in range(draw(st.integers(1, 4))):
        place = draw(st.integers(0, len(found)))
        way = draw(st.sampled_from(["turn", "cut", "put", "repeat"]))
        if way == "turn" and place < len(found):
            found[place] ^= draw(st.integers(1, 255))
        elif way == "cut":
            del found[place : place + draw(st.integers(1, 200))]
        elif way == "put":
            found[place:place] = draw(st.binary(max_size=30))
        else:
            found[place:place] = found[: min(place, 300)]
    return bytes(found)
