"""Tables of any dialect -> columns of numbers and of text."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Final, cast

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from ingest.archive import UNREADABLE, Source
from ingest.dialect import Dialect
from ingest.errors import RecordingError
from ingest.limits import MAX_ROWS

CHUNK_ROWS: Final = 100_000


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
    places = sorted(place for place in set(wanted) if place < dialect.width)
    texts = dialect.texts.intersection(places)
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


def _options(dialect: Dialect, places: list[int]) -> dict[str, Any]:
    return {
        "sep": dialect.delimiter,
        "decimal": dialect.decimal,
        "header": None,
        "index_col": False,
        "names": list(range(dialect.width)),
        "usecols": places,
        "skiprows": dialect.skip_lines,
        "encoding": dialect.encoding,
        "encoding_errors": "replace",
        "skipinitialspace": True,
        "na_values": ["-", "--", "?", "none", "None"],
        "engine": "c",
        "nrows": MAX_ROWS + 1,
    }


def _fast(
    source: Source, dialect: Dialect, places: list[int], texts: frozenset[int]
) -> pd.DataFrame:
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
    source: Source, dialect: Dialect, places: list[int], texts: frozenset[int]
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


def _numeric(
    chunk: pd.DataFrame, texts: frozenset[int], delimiter: str
) -> tuple[pd.DataFrame, int]:
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
