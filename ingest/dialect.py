"""How a table is written, from its beginning: encoding, delimiter, decimal sign, header."""

from __future__ import annotations

import codecs
import csv
import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from ingest.archive import Source
from ingest.errors import RecordingError
from ingest.formats import formats, unit_named
from ingest.limits import MAX_COLUMNS, MAX_LINE_BYTES

HEAD_BYTES: Final = 1 << 16
"""How much of a file is looked at to find its dialect."""
SAMPLE_LINES: Final = 150
"""Lines that are looked at closely; the rest only for comments."""
MOST_NULLS: Final = 0.05
"""A log cut off by an empty battery may hold some zero bytes; a picture holds many."""
MAX_NUMBER: Final = 40
"""Letters of the longest number that is one."""
COMMENTS: Final = ("#", "//", "%")
DELIMITERS: Final = (";", "\t", ",", "|")

_POINT: Final = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?")
_COMMA: Final = re.compile(r"[+-]?\d*,\d+([eE][+-]?\d+)?")
MISSING: Final = ("", "nan", "null", "none", "n/a", "na", "-", "--", "?")


@dataclass(frozen=True, slots=True, kw_only=True)
class Dialect:
    """How a table is written.

    Attributes
    ----------
    encoding : str
    delimiter : str
    decimal : {".", ","}
    comment : str
        First character of comment lines after the header; empty where there are none.
    skip_lines : int
        Lines before the first row of data.
    header : tuple of str
    texts : frozenset of int
        Columns that hold text, such as a date and time, and no numbers.
    width : int
        Fields of a row.
    """

    encoding: str
    delimiter: str
    decimal: str
    comment: str
    skip_lines: int
    header: tuple[str, ...]
    texts: frozenset[int]
    width: int


def encoding_of(head: bytes) -> str:
    """Encoding from the byte order mark, else UTF-8, else Latin-1."""
    for mark, name in (
        (codecs.BOM_UTF8, "utf-8-sig"),
        (codecs.BOM_UTF16_LE, "utf-16"),
        (codecs.BOM_UTF16_BE, "utf-16"),
    ):
        if head.startswith(mark):
            return name
    try:
        codecs.getincrementaldecoder("utf-8")().decode(head)
    except UnicodeDecodeError:
        return "latin-1"
    return "utf-8"


def _is_number(text: str) -> bool:
    if len(text) > MAX_NUMBER:  # the patterns take the square of the length
        return False
    return bool(_POINT.fullmatch(text) or _COMMA.fullmatch(text))


def _fields(line: str, delimiter: str) -> tuple[str, ...]:
    try:
        row = next(csv.reader([line], delimiter=delimiter), [])
    except csv.Error:
        return ()
    return tuple(field.strip() for field in row)


def _is_data(fields: Sequence[str], width: int) -> bool:
    """Whether a line is a row of numbers: as wide as the others, at least half of it numeric."""
    present = [field for field in fields if field.casefold() not in MISSING]
    numeric = sum(map(_is_number, present))
    return abs(len(fields) - width) <= 1 and numeric >= 1 and 2 * numeric >= len(present)


def _score(lines: Sequence[str], delimiter: str) -> tuple[float, int]:
    """Share of lines that agree in width times the share of numeric fields; and the width."""
    rows = [_fields(line, delimiter) for line in lines]
    width, agreeing = Counter(map(len, rows)).most_common(1)[0]
    if width < 2:
        return 0.0, width
    fields = [field for row in rows if len(row) == width for field in row if field]
    numeric = sum(map(_is_number, fields)) / max(len(fields), 1)
    return agreeing / len(rows) * numeric, width


def _comment_of(line: str) -> str:
    return next((mark for mark in COMMENTS if line.lstrip().startswith(mark)), "")


def _uncommented(line: str) -> str:
    mark = _comment_of(line)
    return line.lstrip().removeprefix(mark) if mark else line


def _header(before: Sequence[str], delimiter: str, width: int) -> tuple[str, ...]:
    """The last line of words before the data that is as wide as the data.

    A line of units under it is taken along.
    """
    rows = [_fields(_uncommented(line), delimiter) for line in before if line.strip()]
    rows = [row for row in rows if abs(len(row) - width) <= 1]
    if not rows:
        return ()
    if len(rows) > 1 and _are_units(rows[-1]):
        return tuple(f"{word} [{unit}]" for word, unit in zip(rows[-2], rows[-1], strict=False))
    return rows[-1]


def _are_units(row: Sequence[str]) -> bool:
    known = formats().unit_of
    stripped = [field.strip("()[] ") for field in row if field.strip("()[] ")]
    hits = sum(any(unit_named(dimension, text) for dimension in known) for text in stripped)
    return hits >= 2 and 2 * hits >= len(stripped)


def sniff(head: bytes, name: str) -> Dialect:
    r"""Find the dialect of a table from its first bytes.

    Raises
    ------
    RecordingError
        When this is no table of numbers with a header line.

    Examples
    --------
    >>> found = sniff(b"t;x\n0;0,5\n1;0,7\n", "a.csv")
    >>> found.delimiter, found.decimal, found.header, found.skip_lines
    (';', ',', ('t', 'x'), 1)
    """
    encoding = encoding_of(head)
    text = head.decode(encoding, errors="replace").removeprefix("\ufeff")
    if text.count("\x00") > MOST_NULLS * len(text):
        raise RecordingError(f"{name}: not a text file; a ride is GPX or CSV")
    text = text.replace("\x00", "")
    lines = re.split("\r\n|\n|\r", text)
    if max(map(len, lines)) > MAX_LINE_BYTES - 1:
        raise RecordingError(f"{name}: a line longer than {MAX_LINE_BYTES} bytes; not a table")
    lines = lines[:-1] if len(head) >= HEAD_BYTES else lines
    body = _body(lines[:SAMPLE_LINES])[-60:]
    if not body:
        raise RecordingError(f"{name}: empty; export the recording again")
    best, width, delimiter = max((*_score(body, mark), mark) for mark in DELIMITERS)
    if best < 0.2 or width > MAX_COLUMNS:
        raise RecordingError(f"{name}: not a table of numbers; a ride is GPX or CSV")
    return _dialect(name, encoding, lines, delimiter, width)


def _dialect(name: str, encoding: str, lines: list[str], delimiter: str, width: int) -> Dialect:
    first = next(
        (
            place
            for place, line in enumerate(lines)
            if not _comment_of(line) and _is_data(_fields(line, delimiter), width)
        ),
        len(lines),
    )
    if first == len(lines):
        raise RecordingError(f"{name}: a header but no rows; export the recording again")
    header = _header(lines[:first], delimiter, width)
    if not header:
        raise RecordingError(
            f"{name}: no header line, so the columns cannot be told; "
            "add a first line that names them, for example time_s,acc_x_ms2,acc_y_ms2,acc_z_ms2"
        )
    data = [_fields(line, delimiter) for line in _body(lines[first : first + SAMPLE_LINES])]
    named, held = _trimmed(header), max(map(_trimmed, data))
    if held > named:
        raise RecordingError(
            f"{name}: the header names {named} columns, the rows have {held}; "
            "export the recording again"
        )
    comma = any(_COMMA.fullmatch(field) for row in data for field in row)
    remarks = any(line.startswith("#") for line in lines[first:])
    return Dialect(
        encoding=encoding,
        delimiter=delimiter,
        decimal="," if comma else ".",
        comment="#" if remarks else "",
        skip_lines=first,
        header=tuple(word.strip('"') for word in header),
        texts=frozenset(place for place in range(named) if _holds_text(data, place)),
        width=max(len(header), *map(len, data)),
    )


def _body(lines: Sequence[str]) -> list[str]:
    return [line for line in lines if line.strip() and not _comment_of(line)]


def _trimmed(row: Sequence[str]) -> int:
    """Fields of a row without empty ones at its end."""
    return max((place + 1 for place, field in enumerate(row) if field), default=0)


def _holds_text(data: Sequence[Sequence[str]], place: int) -> bool:
    """Whether most of what stands in a column is no number."""
    fields = [row[place] for row in data if place < len(row)]
    present = [field for field in fields if field.casefold() not in MISSING]
    return 2 * sum(map(_is_number, present)) < len(present)


def sniffed(source: Source) -> Dialect:
    """The dialect of a source."""
    return sniff(source.head(HEAD_BYTES), source.name)
