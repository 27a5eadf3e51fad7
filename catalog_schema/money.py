"""Amounts of money: a number, and the currency beside it where one is named."""

from __future__ import annotations

import re
from dataclasses import replace
from decimal import Decimal

from catalog_schema.figures import read_number
from catalog_schema.notation import DecimalMark, Notation
from catalog_schema.problems import FieldError
from catalog_schema.units import LONGEST_TEXT, TYPOGRAPHY

_SIGNS: dict[str, str] = {
    "€": "EUR",
    "euro": "EUR",
    "euros": "EUR",
    "$": "USD CAD AUD NZD SGD HKD MXN CLP COP ARS TWD",
    "us$": "USD",
    "c$": "CAD",
    "a$": "AUD",
    "nz$": "NZD",
    "r$": "BRL",
    "£": "GBP",
    "¥": "JPY CNY",
    "kr": "SEK NOK DKK ISK",
    "kč": "CZK",
    "zł": "PLN",
    "ft": "HUF",
    "lei": "RON",
    "лв": "BGN",
    "fr": "CHF",
    "sfr": "CHF",
    "₺": "TRY",
    "₴": "UAH",
    "₽": "RUB",
    "₹": "INR",
    "₩": "KRW",
    "₪": "ILS",
    "r": "ZAR",
}
"""Signs and short words of currencies, lower case, and the codes they may stand for."""
_CODE_LIST = (
    "AED ARS AUD BAM BGN BRL CAD CHF CLP CNY COP CZK DKK EGP EUR GBP HKD HUF IDR ILS INR ISK JPY KRW MAD MXN MYR NOK "
    "NZD PHP PLN RON RSD RUB SAR SEK SGD THB TRY TWD UAH USD VND ZAR"
)
_CODES = frozenset(_CODE_LIST.split())

_MARKED = re.compile(
    r"(?P<before>[^\d.,+'\s-]+\.?)?\s*(?P<number>[-+]?[\d.,].*?)\s*(?P<after>[^\d.,'\s-]+\.?)?", re.DOTALL
)
# The dash in place of cents: `1.860,-`, `1'860.-`, which shows the decimal mark as well.
_WHOLE = re.compile(r"[.,]\s?-{1,2}$")


def read_amount(cell: object, notation: Notation) -> Decimal | None:
    """The number of an amount in the shop's currency; None for a blank cell.

    >>> read_amount("129,90 €", Notation(currency="EUR")), read_amount("1 860,-", Notation())
    (Decimal('129.9'), Decimal('1860'))

    Raises
    ------
    FieldError
        if it is no number, or one of two: then with both.
    """
    match = _marked(cell)
    if match is None:
        return read_number(cell.translate(TYPOGRAPHY) if isinstance(cell, str) else cell, "n", notation)
    if not all(_codes_of(mark) or _same(mark, notation.currency) for mark in _marks(match)):
        return read_number(match[0], "n", notation)
    whole = _WHOLE.search(match["number"])
    if whole is None:
        return read_number(match["number"], "n", notation)
    shown: DecimalMark = "comma" if whole[0].startswith(",") else "point"
    return read_number(match["number"][: whole.start()], "n", replace(notation, mark=shown))


def currency_in_header(header: str) -> str | None:
    """The currency that a column's header names: in brackets, as a code, or as a sign.

    >>> currency_in_header("Price (USD)"), currency_in_header("Cena netto zł"), currency_in_header("Price each")
    ('USD', 'zł', None)
    """
    bracketed = re.findall(r"[(\[]\s*([^()\[\]]+?)\s*[)\]]", header)
    bracketed += [piece for inside in bracketed for piece in inside.split("/")]
    words = [word.strip(".,:") for word in header.replace("/", " ").split()]
    words = [word for word in words if word in _CODES or word.casefold() in ("€", "$", "£", "¥", "kč", "zł", "euro")]
    return next((mark for mark in (*bracketed, *words) if _codes_of(mark)), None)


def currency_of(text: str) -> str | None:
    """The currency that an amount names: its code, or its sign if that stands for several; None if it names none.

    >>> currency_of("€ 39,90"), currency_of("$12"), currency_of("1 860,- Kč"), currency_of("39.90")
    ('EUR', '$', 'CZK', None)
    """
    match = _MARKED.fullmatch(text.translate(TYPOGRAPHY).strip())
    for mark in (match["before"], match["after"]) if match else ():
        codes = _codes_of(mark) if mark else ()
        if codes:
            return codes[0] if len(codes) == 1 else str(mark)
    return None


def _marked(cell: object) -> re.Match[str] | None:
    """Match a text with a number and perhaps a currency."""
    text = cell.translate(TYPOGRAPHY).strip() if isinstance(cell, str) else ""
    return _MARKED.fullmatch(text) if len(text) <= LONGEST_TEXT else None


def _marks(match: re.Match[str]) -> list[str]:
    return [mark for mark in (match["before"], match["after"]) if mark]


def check_currency(cell: object, currency: str | None) -> None:
    """Refuse an amount in a currency that is not the shop's; ``currency`` is None if any is accepted."""
    match = _marked(cell)
    for mark in _marks(match) if match else ():
        _check_mark(cell, mark, currency)


def _check_mark(cell: object, mark: str, currency: str | None) -> None:
    named = _codes_of(mark)
    if currency is None or not named or may_be_same(mark, currency):
        return
    if not currency:
        raise FieldError(
            cell,
            "an amount without a currency: the shop has not set its own",
            f"set it: boltback settings currency {named[0]}; or write the number alone",
        )
    shown = named[0] if len(named) == 1 else mark
    expected = f"an amount in {currency}, the shop's currency, not in {shown}"
    raise FieldError(cell, expected, f"convert it to {currency}")


def _same(mark: str, currency: str | None) -> bool:
    return bool(currency) and mark.casefold().rstrip(".") == str(currency).casefold().rstrip(".")


def may_be_same(mark: str, currency: str) -> bool:
    """Whether a sign or code may stand for a currency.

    >>> may_be_same("$", "USD"), may_be_same("$", "EUR"), may_be_same("", "EUR")
    (True, False, False)
    """
    return _same(mark, currency) or bool({*_codes_of(mark)} & {*_codes_of(currency)})


def _codes_of(mark: str) -> tuple[str, ...]:
    """The codes that a sign, a short word or a code may stand for, the likeliest first.

    >>> _codes_of("kr."), _codes_of("EUR"), _codes_of("each")
    (('SEK', 'NOK', 'DKK', 'ISK'), ('EUR',), ())
    """
    plain = mark.strip().rstrip(".")
    return (plain.upper(),) if plain.upper() in _CODES else tuple(_SIGNS.get(plain.casefold(), "").split())
