"""The catalogs of messages, in gettext's format: ``locale/LANGUAGE/LC_MESSAGES/DOMAIN.po``.

A text of papers, drawings or the page goes by its key, in English too. A text that is declared elsewhere (a sentence of
an answer, a rule's comparison, a field's description) is English already, and goes by that.
"""

from __future__ import annotations

import os
from contextlib import suppress
from datetime import date
from functools import cache
from gettext import GNUTranslations, NullTranslations
from io import BytesIO
from pathlib import Path

HERE = Path(__file__).resolve().parent
LOCALE = HERE / "locale"
ENGLISH = "en"
PAPERS, PAGE = "papers", "page"
"""Domains: the words of papers and drawings, and those of the page."""


class Messages:
    """The messages of one language and domain.

    >>> Messages("de")("word.total"), Messages("de")("order.pack", count=1, of=2)
    ('Gesamt', '1 Packung zu 2')
    >>> [(one.date(date(2026, 3, 4)), one.marked("1,458.40")) for one in (Messages("en"), Messages("de"))]
    [('Mar 4, 2026', '1,458.40'), ('04.03.2026', '1.458,40')]
    """

    def __init__(self, language: str = ENGLISH, domain: str = PAPERS) -> None:
        self.language = language
        self._catalog = _catalog(language, domain)

    def __call__(self, key: str, /, **facts: object) -> str:
        """Text of a key with its facts filled in, in the plural form of its ``count``; a KeyError if one is missing."""
        if not facts:
            return self._catalog.gettext(key)
        count = facts.get("count")
        form = self._catalog.gettext(key) if count is None else self._catalog.ngettext(key, key, int(str(count)))
        return form.format(**facts)

    def marked(self, number: str) -> str:
        """A number such as -1,458.40 with a minus sign and this language's marks of thousands and decimals."""
        return number.translate(str.maketrans(",.-", f"{self('marks')}−"))

    def date(self, day: date) -> str:
        """A day as this language writes it, without leading zeros after a space."""
        return f"{day:{self('date')}}".replace(" 0", " ")

    def __contains__(self, key: str) -> bool:
        with suppress(KeyError):
            return bool(key and self._catalog.gettext(key))
        return False

    def translated(self, text: str, many: str = "", count: int = 1) -> str:
        """An English text in this language, or as it is; of one with a plural, the form for a count."""
        with suppress(KeyError):
            return self._catalog.ngettext(text, many, count) if many else text and self._catalog.gettext(text)
        return many if many and count != 1 else text


@cache
def languages() -> list[str]:
    """Every language that papers can be written in."""
    return sorted(path.name for path in LOCALE.iterdir())


def source_of(language: str, domain: str = PAPERS) -> Path:
    """The file of a catalog."""
    return LOCALE / language / "LC_MESSAGES" / f"{domain}.po"


class _Unknown(NullTranslations):
    """The end of a catalog: a message that is not in it is an error."""

    def gettext(self, message: str) -> str:
        raise KeyError(message)

    def ngettext(self, msgid1: str, msgid2: str, n: int) -> str:
        raise KeyError(msgid1)


@cache
def _catalog(language: str, domain: str) -> GNUTranslations:
    found = GNUTranslations(BytesIO(_compiled(source_of(language, domain))))
    found.add_fallback(_Unknown())
    return found


def _compiled(source: Path) -> bytes:
    """A catalog compiled, kept like compiled Python: beside it, with its time, where that can be written."""
    kept, changed = HERE / "__pycache__" / f"{source.stem}.{source.parts[-3]}.mo", source.stat().st_mtime_ns
    with suppress(FileNotFoundError):
        if kept.stat().st_mtime_ns == changed:
            return kept.read_bytes()
    from babel.messages.mofile import write_mo
    from babel.messages.pofile import read_po

    made = BytesIO()
    with source.open("rb") as file:
        write_mo(made, read_po(file))
    with suppress(OSError):
        written = kept.with_suffix(f".{os.getpid()}")
        written.write_bytes(made.getvalue())
        os.utime(written, ns=(changed, changed))
        written.replace(kept)
    return made.getvalue()
