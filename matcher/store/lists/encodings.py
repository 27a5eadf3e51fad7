"""Encoding and delimiter of a text file, detected and reported."""

from __future__ import annotations

import codecs
import csv
import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from matcher.errors import FileRefused
from matcher.store.lists.text_sense import CODE_PAGES, odd_words, sensible_encodings

BLOCK = 1 << 20
LONGEST_LINE = 1_000_000
csv.field_size_limit(2 * LONGEST_LINE)  # a line of a million characters may be one cell
BOMS = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
ENCODINGS = frozenset(
    [
        *("utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "gb18030", "shift_jis", "mac-roman"),
        *("koi8-r", "koi8-u", "cp437", "cp850", "cp852", "cp858", "cp866"),
        *(f"cp{page}" for page in range(1250, 1259)),
        *(f"iso8859-{part}" for part in range(1, 17) if part != 12),
    ]
)
"""Supported encodings, by the names of Python's codecs."""
DELIMITERS = ",;\t|"
DELIMITER_NAMES = {"comma": ",", "semicolon": ";", "tab": "\t", "pipe": "|", "\\t": "\t"}
BAD_BYTES = "surrogateescape"
"""Error handler that keeps an invalid UTF-8 byte as half a character, which no field accepts."""
MOSTLY = 4
"""A text is UTF-8 with bad bytes if valid non-ASCII characters outnumber them by this factor."""
_LOST = re.compile("[\udc80-\udcff]")
_BEYOND_ASCII = re.compile("[^\x00-\x7f]")
_CONTROLS = bytes(code for code in range(32) if code not in b"\t\n\x0b\x0c\r\x1a\x1b")


@dataclass(frozen=True, slots=True)
class TextFacts:
    """Findings of one pass over a text file's bytes."""

    encoding: str
    lines: int
    """Lines as an editor counts them: the last may have no line end."""
    plain: bool
    """Whether the database can read the bytes as they are."""
    found: bool = True
    """Whether the encoding was detected, not given."""
    errors: str = "strict"
    """Error handler for invalid bytes: strict, or `BAD_BYTES`."""


def examine_text(path: Path, given: str | None = None) -> TextFacts:
    """Read a text file once, in blocks, and detect its encoding.

    Raises
    ------
    FileRefused
        if it is not text, has a line of over a million characters, or does not have the given encoding.
    """
    with path.open("rb") as stream:
        head = stream.read(BLOCK)
    encoding = (given and known_encoding(given)) or wide_encoding(head) or "utf-8"
    if encoding == "utf-8" and head.startswith(codecs.BOM_UTF8):
        encoding = "utf-8-sig"
    _refuse_binary(path, head, encoding)
    try:
        return _count(path, encoding, found=given is None)
    except UnicodeDecodeError as error:
        if encoding not in ("utf-8", "utf-8-sig"):
            raise _not_written_in(path, encoding, error) from None
        if given or encoding == "utf-8-sig" or _is_mostly_utf8(path):
            return _count(path, encoding, found=given is None, errors=BAD_BYTES)
    return _count(path, _code_page(path), found=True)


def _is_mostly_utf8(path: Path) -> bool:
    """Whether a file with invalid UTF-8 bytes is UTF-8 with some bytes lost.

    Raises
    ------
    FileRefused
        if it could be either.
    """
    whole, bad = 0, 0
    with path.open(encoding="utf-8", errors=BAD_BYTES) as stream:
        while block := stream.read(BLOCK):
            lost = len(_LOST.findall(block))
            bad += lost
            whole += 0 if block.isascii() else len(_BEYOND_ASCII.findall(block)) - lost
    if 0 < whole < MOSTLY * bad:
        line = first_bad_line(path)
        raise FileRefused(
            f"{path} holds {whole} characters in UTF-8 and {bad} bytes that are none, the first in line {line}",
            fix=f"save it in one encoding, or say which it is: {_listed(['utf-8', 'windows-1252', 'windows-1250'])}",
        )
    return whole > 0


def is_whole(text: str) -> bool:
    """Whether no byte of a text was lost."""
    return text.isascii() or not _LOST.search(text)


def first_bad_line(path: Path) -> int:
    """Return the line of the first byte that is not UTF-8."""
    with path.open(encoding="utf-8", errors=BAD_BYTES, newline=None) as stream:
        return next(number for number, line in enumerate(stream, start=1) if _LOST.search(line))


def _code_page(path: Path) -> str:
    """Return the code page in which a text makes sense, Windows-1252 first.

    Raises
    ------
    FileRefused
        if it makes sense in none, or in several of the others, with the text in each.
    """
    words = odd_words(path)
    found = sensible_encodings(words)
    if "cp1252" in found or len(found) == 1:
        return "cp1252" if "cp1252" in found else found[0]
    shown = max(words, key=len)[:40]
    texts = {page: shown.decode(page, "replace") for page in found or CODE_PAGES[:4]}
    read = [f"{text} in {page_name(page)}" for page, text in texts.items() if text.isprintable()]
    raise FileRefused(
        f"{path} is not UTF-8, and no one encoding makes sense of its words: {', '.join(read)}",
        fix=f"save it as UTF-8, or say which it is: {_listed([page_name(page) for page in found or CODE_PAGES[:4]])}",
    )


def page_name(page: str) -> str:
    """Return the usual name of a code page."""
    return re.sub(r"^cp(?=12)", "windows-", page)


def _listed(names: Sequence[str]) -> str:
    return " or ".join(f"--encoding {name}" for name in names)


def wide_encoding(head: bytes) -> str | None:
    """Return the encoding shown by the first bytes of a text, a mark or zeros; None if they show none."""
    return _marked(head) or _wide(head)


def _marked(head: bytes) -> str | None:
    return next((name for mark, name in BOMS if head.startswith(mark)), None)


def _not_written_in(path: Path, encoding: str, error: UnicodeDecodeError) -> FileRefused:
    byte = error.object[error.start]
    return FileRefused(
        f"{path} is not written in {encoding}: byte 0x{byte:02x} has no meaning there",
        fix="save it as UTF-8, or name its encoding: --encoding windows-1252, for example",
    )


def known_encoding(name: str) -> str:
    """Return Python's name for an encoding.

    Raises
    ------
    FileRefused
        if it is not an encoding of lists, such as Python's ``rot13``.
    """
    try:
        found = codecs.lookup(name.strip()).name
    except (LookupError, ValueError):
        found = ""
    if found not in ENCODINGS:
        raise FileRefused(f"no encoding {name!r}", fix="use utf-8, utf-16, windows-1252 or windows-1250, for example")
    return found


def _wide(head: bytes) -> str | None:
    """Detect UTF-16 without a mark: every other byte of Western text is zero."""
    even, odd = head[0:2000:2], head[1:2000:2]
    if len(odd) < 4:
        return None
    if odd.count(0) > len(odd) * 0.6 and even.count(0) < len(even) * 0.1:
        return "utf-16-le"
    if even.count(0) > len(even) * 0.6 and odd.count(0) < len(odd) * 0.1:
        return "utf-16-be"
    return None


def _refuse_binary(path: Path, head: bytes, encoding: str) -> None:
    if not encoding.startswith("utf-16"):
        controls = len(head) - len(head.translate(None, _CONTROLS))
        if controls > max(2, len(head) // 50):
            raise FileRefused(f"{path} is no text", fix="save the list as CSV or XLSX")


def _count(path: Path, encoding: str, *, found: bool, errors: str = "strict") -> TextFacts:
    lines, run, ended = 0, 0, True
    as_is = encoding in ("utf-8", "utf-8-sig") and errors == "strict"
    plain = as_is
    decoder = codecs.getincrementaldecoder(encoding)(errors)
    with path.open("rb") as stream:
        while raw := stream.read(BLOCK):
            block = _checked(raw, decoder) if as_is else decoder.decode(raw).encode("utf-8", "surrogatepass")
            if not block:
                continue
            plain = plain and not (b"\x00" in block or b"\x01" in block)
            if b"\r" in block:
                plain = plain and block.count(b"\r") == block.count(b"\r\n") + block.endswith(b"\r")
                block = block.replace(b"\r\n", b"\n").replace(b"\r", b"\n")
            lines += block.count(b"\n")
            run = _longest_run(path, block, run)
            ended = block.endswith(b"\n")
    decoder.decode(b"", final=True)
    return TextFacts(encoding, lines + (not ended), plain, found, errors)


def _checked(raw: bytes, decoder: codecs.IncrementalDecoder) -> bytes:
    """Return the bytes if they are complete characters of the encoding."""
    if not raw.isascii() or decoder.getstate()[0]:
        decoder.decode(raw)
    return raw


def _longest_run(path: Path, block: bytes, before: int) -> int:
    """Return the length of the unfinished last line; refuse one that is too long."""
    first = block.find(b"\n")
    run = before + (len(block) if first < 0 else first)
    if run > LONGEST_LINE:
        raise FileRefused(
            f"{path} has a line of over {LONGEST_LINE:,} characters", fix="is it a list, one part a line?"
        )
    return run if first < 0 else len(block) - 1 - block.rfind(b"\n")


def known_delimiter(given: str) -> str:
    """Return a delimiter given as a character or by name."""
    mark = DELIMITER_NAMES.get(given.strip().lower() or given, given)
    if len(mark) != 1 or mark in '"\r\n':
        raise FileRefused(f"no delimiter {given!r}", fix="use comma, semicolon, tab or pipe")
    return mark


def sample_text(path: Path, facts: TextFacts) -> list[str]:
    """Return the first lines of a text file, to detect its delimiter."""
    with path.open(encoding=facts.encoding, errors="replace", newline=None) as stream:
        return stream.read(200_000).split("\n")[:200]


def find_delimiter(sample: list[str]) -> str:
    """Return the delimiter that splits most lines of a sample into the same number of cells, and many."""
    return max(DELIMITERS, key=lambda mark: _evenness(sample, mark))


def _evenness(sample: list[str], mark: str) -> tuple[float, int]:
    widths = Counter(len(row) for row in csv.reader(sample, delimiter=mark) if len(row) > 1)
    if not widths:
        return (0, 0)
    width, count = max(widths.items(), key=lambda item: (item[1], item[0]))
    return (count * min(width, 8), width)
