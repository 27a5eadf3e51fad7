"""Number formats of spreadsheets: text beyond the digits, such as ``0.00" in"`` or ``# ??/??``.

A list means what it shows. So a number is read with the text, currency, percent sign or fraction of its format, to all
its
digits; if the format shows another number than the cell has, the cell is bad. The codes are those of ECMA-376, part 1,
18.8.31 (numFmts).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from catalog_schema.notation import one_reading
from matcher.store.lists.listing import BadCell

BUILT_IN = {"9": "0%", "10": "0.00%", "12": "# ?/?", "13": "# ??/??"}
"""Numeric formats; built-in currency formats depend on the reader's locale, so they give no currency."""

_TOKEN = re.compile(
    r'"(?P<quoted>[^"]*)"|\\(?P<escaped>.)|_(?P<gap>.)|\*(?P<fill>.)|\[\$(?P<currency>[^\]-]*)[^\]]*\]'
    r"|\[(?P<condition>[<>=][^\]]*)\]|\[(?P<bracket>[^\]]*)\]|(?P<number>General|[0#?]+)|(?P<exponent>[eE][+-])"
    r"|(?P<digits>\d+)|(?P<mark>[.,/%@])|(?P<other>.)",
    re.DOTALL | re.IGNORECASE,
)
_CURE = "give the cell the format Text, and write the value with its unit"


@dataclass(frozen=True, slots=True)
class NumberFormat:
    """One section of a format: the text around the number, and the number's form."""

    before: str = ""
    behind: str = ""
    digits: int = 1
    """Minimum number of digits shown."""
    denominator: int = 0
    """The largest denominator of a fraction, 0 for a decimal number."""
    fixed: bool = False
    """Whether that denominator is the only one."""
    percent: bool = False
    shows_number: bool = True
    alters: str = ""
    """Why the shown number differs from the stored one."""

    @property
    def is_plain(self) -> bool:
        """Whether it shows only digits."""
        return self in (NumberFormat(), NumberFormat(digits=0))


def format_of(code: str, value: float) -> NumberFormat | None:
    """Return the format of a value; None if it shows digits only.

    >>> format_of('0.00" in"', 2.375).behind, format_of("#,##0.00", 2.375)
    (' in', None)
    """
    found = sections(code)
    if found is None:
        return NumberFormat(alters=f"a number in a format with conditions, {code}")
    if value < 0 and len(found) > 1:
        section = found[1]
    elif value == 0 and len(found) > 2:
        section = found[2]
    else:
        section = found[0]
    return None if section.is_plain else section


@lru_cache(maxsize=1 << 10)
def sections(code: str) -> tuple[NumberFormat, ...] | None:
    """Return the sections for numbers; None if conditions choose between different ones."""
    parts: list[list[re.Match[str]]] = [[]]
    for token in _TOKEN.finditer(code):
        if token["other"] == ";":
            parts.append([])
        else:
            parts[-1].append(token)
    numbers = [part for part in parts[:3] if not any(token["mark"] == "@" for token in part)]
    found = tuple(_section(part) for part in numbers)
    if any(token["condition"] for part in parts for token in part) and len(set(found)) > 1:
        return None
    return found or (NumberFormat(),)


def _section(tokens: list[re.Match[str]]) -> NumberFormat:
    places = [place for place, token in enumerate(tokens) if token["number"]]
    if not (set("".join(tokens[place]["number"] for place in places)) - {"?"} or any(t["mark"] == "/" for t in tokens)):
        return NumberFormat(before=_shown(tokens), shows_number=False)
    first, last = places[0], places[-1]
    slash = next((place for place in range(first, len(tokens)) if tokens[place]["mark"] == "/"), None)
    fixed = slash is not None and slash + 1 < len(tokens) and tokens[slash + 1]["digits"] is not None
    if fixed and slash is not None:
        last = max(last, slash + 1)
    inner, behind = tokens[first : last + 1], tokens[last + 1 :]
    exponent = any(token["exponent"] for token in inner)
    marks = [token["mark"] for token in inner]
    return NumberFormat(
        before=_shown(tokens[:first]),
        behind=_shown(behind),
        digits=_least_digits(inner) if slash is None and not exponent else 1,
        denominator=0 if slash is None else _denominator(tokens[slash + 1]),
        fixed=fixed,
        percent="%" in _shown(behind) or "%" in _shown(tokens[:first]),
        alters=_alters(inner, behind, has_fraction=slash is not None, is_scaled="%" in marks),
    )


def _denominator(token: re.Match[str]) -> int:
    return int(token["digits"]) if token["digits"] else 10 ** min(len(token["number"] or "?"), 4) - 1


def _least_digits(inner: list[re.Match[str]]) -> int:
    whole = inner[: next((place for place, token in enumerate(inner) if token["mark"] == "."), len(inner))]
    has_point = len(whole) < len(inner)
    zeros = sum((token["number"] or "").count("0") for token in whole)
    return 1 if has_point else min(zeros, 40)


def _alters(inner: list[re.Match[str]], behind: list[re.Match[str]], *, has_fraction: bool, is_scaled: bool) -> str:
    """Return why the shown number differs: in thousands, or with text between its digits."""
    if is_scaled or (behind and behind[0]["mark"] == ","):
        return "a number that is shown as it is, not in thousands or hundredths"
    if not has_fraction and _shown([token for token in inner if not token["mark"]]):
        return "a number that is shown without marks between its digits"
    return ""


def shows_digits_alone(code: str) -> bool:
    """Whether a format shows numbers by their digits only."""
    return all(section.is_plain for section in sections(code) or [NumberFormat(alters=code)])


def _shown(tokens: list[re.Match[str]]) -> str:
    """Return the text that tokens show around a number."""
    texts = []
    for token in tokens:
        if token["gap"] or token["fill"] or token["number"] or token["bracket"] is not None or token["condition"]:
            continue
        mark = token["mark"] if token["mark"] in ("%", "/", ".") else None
        text = token["quoted"] or token["escaped"] or token["currency"] or token["digits"] or mark or token["other"]
        texts.append(text or "")
    return "".join(texts)


def show_number(value: float, digits: str, shown: NumberFormat) -> str | BadCell:
    """Return a cell's number as its format shows it, to all its digits; ``digits`` is the bare number.

    >>> show_number(2.375, "2.375", NumberFormat(denominator=99, behind=" in"))
    '2 3/8 in'
    """
    if shown.alters:
        return BadCell(digits, shown.alters, _CURE)
    if not shown.shows_number:
        return shown.before.strip() or BadCell(digits, "a number that its format shows", _CURE)
    sign, number = ("-", digits[1:]) if digits.startswith("-") else ("", digits)
    if shown.percent:
        number = one_reading(f"{abs(value) * 100:.15g}")
    if shown.denominator:
        fraction = _as_fraction(abs(value), shown)
        if fraction is None:
            return BadCell(digits, "a fraction that is the number of its cell", _CURE)
        number = fraction
    before, behind = (text.strip("-()") if sign else text for text in (shown.before, shown.behind))
    return " ".join(f"{before}{sign}{number.zfill(shown.digits)}{behind}".split())


def _as_fraction(value: float, shown: NumberFormat) -> str | None:
    most = shown.denominator
    exact = Fraction(round(value * most), most) if shown.fixed else Fraction(value).limit_denominator(most)
    if abs(exact - Fraction(value)) > Fraction(1, 2000):
        return None
    whole, rest = divmod(exact, 1)
    return f"{whole} {rest.numerator}/{rest.denominator}" if whole or not rest else f"{rest}"
