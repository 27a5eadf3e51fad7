"""Terms of a supplier's prices: cost or retail, with or without tax, currency; and the price for the customer."""

from __future__ import annotations

from dataclasses import dataclass, fields
from decimal import Decimal
from typing import Any

from matcher.errors import InputError, Problem
from matcher.settings import Settings
from matcher.store.database.connection import Connection
from matcher.store.database.provenance import record

COST, RETAIL = "cost", "retail"
PERCENT = Decimal(100)
MOST_FACTOR = Decimal(90)
"""A rate or a markup beyond it is a typing error."""


@dataclass(frozen=True, slots=True)
class SupplierTerms:
    """Terms of one supplier's prices.

    Parameters
    ----------
    price_is
        ``cost``, which the shop pays, or ``retail``, which its customer pays.
    markup_pct
        The shop's markup on cost.
    with_tax
        Whether the prices include the shop's tax.
    currency
        Currency of the list; empty: the shop's own.
    rate
        One unit of that currency in the shop's own.
    """

    price_is: str = RETAIL
    markup_pct: Decimal = Decimal(0)
    with_tax: bool = False
    currency: str = ""
    rate: Decimal = Decimal(1)

    def factor(self, tax_pct: Decimal) -> Decimal:
        """Return the factor from a list price to the customer's price with tax.

        >>> SupplierTerms().factor(Decimal(20)), SupplierTerms(with_tax=True).factor(Decimal(20))
        (Decimal('1.2'), Decimal('1'))
        >>> SupplierTerms(COST, Decimal(50), currency="SEK", rate=Decimal("0.09")).factor(Decimal(0))
        Decimal('0.135')
        """
        markup = self.markup_pct if self.price_is == COST else Decimal(0)
        tax = Decimal(0) if self.with_tax else tax_pct
        return (self.rate * (1 + markup / PERCENT) * (1 + tax / PERCENT)).normalize() + 0


USUAL = SupplierTerms()
"""Default terms: retail prices without tax, in the shop's currency."""
NAMES = tuple(one.name for one in fields(SupplierTerms))


def supplier_terms(con: Connection) -> dict[str, SupplierTerms]:
    """Return the terms of each supplier that has its own, by name."""
    rows = con.execute(f"select name, {', '.join(NAMES)} from supplier_terms order by name").fetchall()
    return {name: SupplierTerms(*rest) for name, *rest in rows}


def price_factors(con: Connection, family: str, settings: Settings) -> tuple[Decimal, dict[str, Decimal]]:
    """Return the price factor of a family, and the factors of parts whose supplier differs."""
    tax_pct = settings["tax_pct"]
    usual = USUAL.factor(tax_pct)
    own = {name: one.factor(tax_pct) for name, one in supplier_terms(con).items()}
    differing = [name for name, factor in own.items() if factor != usual]
    if not differing:
        return usual, {}
    rows = con.execute(
        f"select part_id, supplier from {family}_rows where until is null "
        "and list_contains($1::varchar[], coalesce(supplier, ''))",
        [differing],
    ).fetchall()
    return usual, {part_id: own[supplier or ""] for part_id, supplier in rows}


def give_terms(con: Connection, name: str, typed: dict[str, Any], settings: Settings, by: str | None = None) -> None:
    """Set a supplier's terms; a term that is not given stays.

    Raises
    ------
    InputError
        if a term cannot be read, or a currency other than the shop's has no rate.
    """
    before = supplier_terms(con).get(name, USUAL)
    stated = {field: getattr(before, field) for field in NAMES} | {
        field: _read(field, value, settings) for field, value in typed.items() if value is not None
    }
    terms = SupplierTerms(**stated)
    foreign = terms.currency not in ("", settings.word("currency"))
    if foreign and terms.rate == 1:
        own = settings.word("currency") or "the shop's currency"
        fix = f"say what 1 {terms.currency} is in {own}"
        raise _refusal(f"a rate: {name} has prices in {terms.currency}", "rate", fix=fix)
    if not 0 < terms.factor(settings["tax_pct"]) <= MOST_FACTOR:
        expected = f"less: a price would become {terms.factor(settings['tax_pct'])} times itself"
        raise _refusal(expected, "rate" if terms.rate > 1 else "markup_pct")
    if terms != before:
        con.execute("insert or replace into supplier_terms values (?, ?, ?, ?, ?, ?)", [name, *stated.values()])
        record(con, "supplier", f"supplier:{name}", terms_say(terms, settings.word("currency")), by=by)


def _read(field: str, value: Any, settings: Settings) -> Any:
    if field == "price_is" and value not in (COST, RETAIL):
        raise _refusal(f"{COST} or {RETAIL}", field, str(value))
    if field not in ("markup_pct", "rate"):
        return value.strip() if isinstance(value, str) else value
    from catalog_schema.figures import read_number  # no question reads typed terms
    from catalog_schema.problems import FieldError

    try:
        number = read_number(value, "n", settings.notation())
    except FieldError as error:
        raise _refusal("a number", field, error.found) from None
    if number is None or number < 0:
        raise _refusal("a number, 0 or more", field, str(value))
    return number


def _refusal(expected: str, field: str, found: str = "", fix: str = "") -> InputError:
    problem = Problem(expected, column=field, found=found, fix=fix)
    return InputError("the supplier's terms cannot be taken", problems=[problem])


def terms_say(terms: SupplierTerms, own_currency: str) -> str:
    """Return the terms as a phrase.

    >>> terms_say(SupplierTerms(COST, Decimal(40), currency="SEK", rate=Decimal("0.09")), "EUR")
    'cost without tax, 40 % markup, in SEK at 0.09 EUR'
    """
    markup = f", {terms.markup_pct.normalize():f} % markup" if terms.price_is == COST else ""
    foreign = terms.currency not in ("", own_currency)
    money = f", in {terms.currency} at {terms.rate.normalize():f} {own_currency}".rstrip() if foreign else ""
    return f"{terms.price_is} {'with' if terms.with_tax else 'without'} tax{markup}{money}"
