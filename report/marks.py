"""Judge's marks as a rider types them into a CSV file, and their percentage."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from decimal import ROUND_HALF_UP, Decimal, InvalidOperation
from pathlib import Path
from typing import Final

from ingest.errors import MarksError
from report.page_marks import JudgeMark, JudgeSheet

COLUMNS: Final = ("movement", "mark", "coefficient", "remark", "underlined", "felt")
COLLECTIVE: Final = "collective:"
ERRORS: Final = "errors"
TEN: Final = Decimal(10)
MOST_ROWS: Final = 2000


def read_marks(file: Path) -> JudgeSheet:
    """Read a file of marks: one row per movement and judge.

    Parameters
    ----------
    file : Path
        CSV with :data:`COLUMNS`; only ``movement`` and ``mark`` are needed. Comma, semicolon or
        tab between the fields; a decimal comma where the fields are not parted by commas.

    Raises
    ------
    MarksError
        One line per fault, with the row it stands in.
    """
    rows = _rows(file)
    marks: list[JudgeMark] = []
    faults: list[str] = []
    for number, row in enumerate(rows, start=2):
        try:
            marks.append(_mark(row))
        except ValueError as fault:
            faults.append(f"{file.name}, row {number}: {fault}")
    if faults:
        raise MarksError(*faults)
    return JudgeSheet(rows=tuple(marks), percent=percent_of(marks))


def _rows(file: Path) -> list[dict[str, str]]:
    try:
        text = file.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as fault:
        raise MarksError(f"{file.name}: the marks cannot be read; save them as CSV text") from fault
    head = text.split("\n", 1)[0]
    delimiter = max(",;\t", key=head.count)
    reader = csv.DictReader(io.StringIO(text), delimiter=delimiter)
    names = [name.strip().lower() for name in reader.fieldnames or []]
    if not {"movement", "mark"} <= set(names):
        raise MarksError(
            f"{file.name}: the first line must name the columns {', '.join(COLUMNS)}; "
            "movement and mark are needed"
        )
    reader.fieldnames = names
    found = [row for row in reader if any((value or "").strip() for value in _texts(row))]
    if not found or len(found) > MOST_ROWS:
        raise MarksError(f"{file.name}: no marks below the first line; write one row per movement")
    return found


def _texts(row: Mapping[str, str | list[str] | None]) -> list[str]:
    return [value for value in row.values() if isinstance(value, str)]


def _mark(row: Mapping[str, str]) -> JudgeMark:
    movement, name = _movement((row.get("movement") or "").strip())
    coefficient = (row.get("coefficient") or "").strip() or "1"
    if not coefficient.isdecimal() or not 1 <= int(coefficient) <= 10:
        raise ValueError(f"the coefficient is '{coefficient}'; write a whole number such as 2")
    most = Decimal(1000) if name == ERRORS else TEN
    return JudgeMark(
        movement=movement,
        name=name,
        mark=_decimal(row.get("mark"), "mark", most),
        coefficient=int(coefficient),
        remark=(row.get("remark") or "").strip(),
        underlined=(row.get("underlined") or "").strip(),
        felt=_decimal(row.get("felt"), "felt", TEN),
    )


def _movement(text: str) -> tuple[int | None, str]:
    if text.isdecimal() and 1 <= int(text) <= 99:
        return int(text), ""
    if text.lower() == ERRORS:
        return None, ERRORS
    if text.lower().startswith(COLLECTIVE) and text[len(COLLECTIVE) :].strip():
        return None, text[len(COLLECTIVE) :].strip()
    raise ValueError(f"the movement is '{text}'; write its number, collective:NAME or errors")


def _decimal(text: str | None, what: str, most: Decimal) -> Decimal | None:
    words = (text or "").strip().replace(",", ".")
    if not words:
        return None
    try:
        value = Decimal(words)
    except InvalidOperation:
        value = Decimal(-1)
    if not value.is_finite() or not 0 <= value <= most:
        raise ValueError(f"{what} is '{text}'; write a number from 0 to {most}, such as 6.5")
    return value


def percent_of(marks: Sequence[JudgeMark]) -> Decimal | None:
    """Percentage of a sheet; None while a mark is blank.

    100 · (Σ coefficient · mark − error points) / (10 · Σ coefficient), in decimal numbers, half
    up, two places.

    Examples
    --------
    >>> marks = [JudgeMark(movement=1, mark=Decimal("6.5")), JudgeMark(movement=2, mark=TEN)]
    >>> percent_of(marks)
    Decimal('82.50')
    """
    given = [row for row in marks if row.name != ERRORS]
    errors = sum((row.mark or Decimal(0) for row in marks if row.name == ERRORS), Decimal(0))
    if not given or any(row.mark is None for row in given):
        return None
    points = sum((row.coefficient * (row.mark or Decimal(0)) for row in given), Decimal(0))
    most = TEN * sum(row.coefficient for row in given)
    return (100 * (points - errors) / most).quantize(Decimal("0.01"), rounding=ROUND_HALF_UP)
