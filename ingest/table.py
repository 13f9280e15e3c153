"""CSV files of any dialect -> columns of numbers: delimiter, decimal sign, header, comments."""

from __future__ import annotations

import codecs
import csv
import re
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final, cast

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from ingest.archive import UNREADABLE, Source
from ingest.errors import RecordingError
from ingest.limits import MAX_COLUMNS, MAX_LINE_BYTES, MAX_ROWS

HEAD_BYTES: Final = 1 << 16
"""How much of a file is looked at to find its dialect."""
SAMPLE_LINES: Final = 150
"""Lines that are looked at closely; the rest only for comments."""
MOST_NULLS: Final = 0.05
"""A log cut off by an empty battery may hold some zero bytes; a picture holds many."""
COMMENTS: Final = ("#", "//", "%")
DELIMITERS: Final = (";", "\t", ",", "|")
CHUNK_ROWS: Final = 100_000

_POINT: Final = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?")
_COMMA: Final = re.compile(r"[+-]?\d*,\d+([eE][+-]?\d+)?")
_MISSING: Final = ("", "nan", "null", "none", "n/a", "na", "-", "--", "?")


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
    first_row : tuple of str
        To tell times written as text from numbers.
    """

    encoding: str
    delimiter: str
    decimal: str
    comment: str
    skip_lines: int
    header: tuple[str, ...]
    first_row: tuple[str, ...]


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
    return bool(_POINT.fullmatch(text) or _COMMA.fullmatch(text))


def _fields(line: str, delimiter: str) -> tuple[str, ...]:
    try:
        row = next(csv.reader([line], delimiter=delimiter), [])
    except csv.Error:
        return ()
    return tuple(field.strip() for field in row)


def _is_data(fields: Sequence[str], width: int) -> bool:
    """Whether a line is a row of numbers: as wide as the others, at least half of it numeric."""
    present = [field for field in fields if field.casefold() not in _MISSING]
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
    from ingest.formats import formats, unit_named

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
    body = [line for line in lines[:SAMPLE_LINES] if line.strip() and not _comment_of(line)][-60:]
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
    data = [
        _fields(line, delimiter) for line in lines[first : first + SAMPLE_LINES] if line.strip()
    ]
    comma = any(_COMMA.fullmatch(field) for row in data for field in row)
    later = next((line for line in lines[first:] if line.startswith(COMMENTS)), "")
    return Dialect(
        encoding=encoding,
        delimiter=delimiter,
        decimal="," if comma else ".",
        comment=later[:1],
        skip_lines=first,
        header=header,
        first_row=data[0],
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """Columns of one file, as numbers or as text, and how many rows were no use."""

    values: dict[int, NDArray[np.float64]]
    texts: dict[int, NDArray[np.object_]]
    bad_rows: int
    rows: int


def read_table(source: Source, dialect: Dialect, wanted: Iterable[int]) -> Table:
    """Read some columns of a table.

    Parameters
    ----------
    source : Source
    dialect : Dialect
    wanted : iterable of int
        Places of the columns.

    Returns
    -------
    Table
        A column is text when its first row is (a time of day), else float64 with NaN for what is
        missing or no number.

    Raises
    ------
    RecordingError
        Above the limit on rows, or when the file is damaged.
    """
    places = sorted(place for place in set(wanted) if place < len(dialect.first_row))
    texts = {place for place in places if _is_text(dialect.first_row[place])}
    if not places:
        return Table(values={}, texts={}, bad_rows=0, rows=0)
    try:
        frame = _fast(source, dialect, places, texts)
        bad = 0
    except (ValueError, pd.errors.ParserError, OverflowError):
        frame, bad = _patient(source, dialect, places, texts)
    return Table(
        values={i: frame[i].to_numpy(np.float64) for i in places if i not in texts},
        texts={i: frame[i].to_numpy(object) for i in texts},
        bad_rows=bad,
        rows=len(frame),
    )


def _is_text(field: str) -> bool:
    return field.casefold() not in _MISSING and not _is_number(field)


def _options(dialect: Dialect, places: list[int]) -> dict[str, Any]:
    return {
        "sep": dialect.delimiter,
        "decimal": dialect.decimal,
        "header": None,
        "index_col": False,
        "names": list(range(max(len(dialect.header), len(dialect.first_row)))),
        "usecols": places,
        "skiprows": dialect.skip_lines,
        "encoding": dialect.encoding,
        "encoding_errors": "replace",
        "skipinitialspace": True,
        "na_values": ["-", "--", "?", "none", "None"],
        "engine": "c",
        "nrows": MAX_ROWS + 1,
    }


def _fast(source: Source, dialect: Dialect, places: list[int], texts: set[int]) -> pd.DataFrame:
    """All rows at once, every field a number; ``ValueError`` where one is not."""
    dtype = {place: (object if place in texts else np.float64) for place in places}
    options = _options(dialect, places)
    with source.open() as stream:
        try:
            frame = pd.read_csv(
                stream, dtype=dtype, comment=dialect.comment or None, low_memory=True, **options
            )
        except UNREADABLE as fault:
            raise RecordingError(f"{source.name}: damaged; export it again") from fault
    return _within_rows(source.name, frame)


def _within_rows(name: str, frame: pd.DataFrame) -> pd.DataFrame:
    if len(frame) > MAX_ROWS:
        raise RecordingError(f"{name}: more than {MAX_ROWS} rows; cut the recording to the ride")
    return frame


def _patient(
    source: Source, dialect: Dialect, places: list[int], texts: set[int]
) -> tuple[pd.DataFrame, int]:
    """Row by row as text, what is no number becoming NaN; with the count of rows so spoilt."""
    options = _options(dialect, places)
    parts: list[pd.DataFrame] = []
    bad = 0
    try:
        with (
            source.open() as stream,
            pd.read_csv(
                stream,
                dtype=object,
                comment=dialect.comment or "#",
                on_bad_lines="skip",
                chunksize=CHUNK_ROWS,
                **options,
            ) as reader,
        ):
            for chunk in reader:
                part, spoilt = _numeric(chunk, texts, dialect.delimiter)
                parts.append(part)
                bad += spoilt
    except (*UNREADABLE, pd.errors.ParserError, ValueError) as fault:
        if not parts:
            raise RecordingError(f"{source.name}: damaged; export it again") from fault
        bad += 1
    if not parts:
        raise RecordingError(f"{source.name}: no rows; export the recording again")
    return _within_rows(source.name, pd.concat(parts, ignore_index=True)), bad


def _numeric(chunk: pd.DataFrame, texts: set[int], delimiter: str) -> tuple[pd.DataFrame, int]:
    """Numbers with either decimal sign; a comma that is the delimiter is in no field."""
    spoilt = np.zeros(len(chunk), dtype=bool)
    columns: dict[Any, Any] = {}
    for place, column in cast(Iterable[tuple[int, "pd.Series[Any]"]], chunk.items()):
        if place in texts:
            columns[place] = column
            continue
        plain = column if delimiter == "," else column.str.replace(",", ".", regex=False)
        numbers = pd.to_numeric(plain, errors="coerce")
        spoilt |= (numbers.isna() & column.notna()).to_numpy()
        columns[place] = numbers.astype(np.float64)
    return pd.DataFrame(columns), int(spoilt.sum())


def sniffed(source: Source) -> Dialect:
    """The dialect of a source."""
    found = sniff(source.head(HEAD_BYTES), source.name)
    return replace(found, header=tuple(word.strip().strip('"') for word in found.header))
