"""Reading and writing test sheets: plain text as a rider types it, or TOML."""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Final

from ingest.errors import SheetError
from track.change_terms import parse_change
from track.lay_out import lay_out
from track.sheet import Level, Movement, Sheet
from track.sheet_model import UNTITLED, MovementFile, SheetFile, sheet_json_schema, validated
from track.sheet_text_form import from_text
from track.term_parts import TermError
from track.terms import parse_ride

__all__ = [
    "level_of", "parse_sheet", "read_sheet", "sheet_json_schema", "write_sheet", "write_sheet_toml",
]  # fmt: skip

LARGEST_BYTES: Final = 200_000
SHOWS: Final = ("stretch", "lengthened strides", "give and retake")

_SHOW_WORDS: Final = re.compile(rf"^({'|'.join(SHOWS)})(?: from ([A-Z]) to ([A-Z]))?$")


def read_sheet(path: Path) -> Sheet:
    """Read a sheet from a file, in either form (told apart by its content).

    Raises
    ------
    SheetError
    """
    try:
        data = path.read_bytes()
    except OSError as fault:
        raise SheetError(f"{path.name}: cannot be read ({fault.strerror})") from None
    if len(data) > LARGEST_BYTES:
        raise SheetError(f"{path.name}: too large for a test sheet")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise SheetError(f"{path.name}: not a text file; a test sheet is plain text") from None
    return parse_sheet(text, name=path.name)


def parse_sheet(text: str, *, name: str = "sheet") -> Sheet:
    """Read a sheet from text, in either form.

    Parameters
    ----------
    text : str
    name : str
        Said in front of every fault.

    Raises
    ------
    SheetError
        One line per fault, all at once.
    """
    faults: list[str] = []
    text = text.removeprefix("\ufeff")
    is_toml = re.search(r"^\s*\[\[\s*movement\s*\]\]", text, re.MULTILINE) is not None
    raw = _from_toml(text, faults) if is_toml else from_text(text, faults)
    if raw is None:
        raise SheetError(*(f"{name}: {fault}" for fault in faults))
    sheet, term_faults = _canonical(raw)
    faults += term_faults
    if faults:
        raise SheetError(*(f"{name}: {fault}" for fault in faults))
    return sheet


def _from_toml(text: str, faults: list[str]) -> SheetFile | None:
    try:
        return validated(tomllib.loads(text), faults)
    except (tomllib.TOMLDecodeError, RecursionError) as fault:
        faults.append(f"not valid TOML: {fault}")
    return None


def _one_line(text: str) -> str:
    """Text for people on one line, without control characters."""
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())


def _canonical(raw: SheetFile) -> tuple[Sheet, list[str]]:
    """The sheet in canonical words, and its faults; with faults, those of the line as well."""
    faults: list[str] = []
    movements = tuple(
        _checked(number, movement, raw, faults)
        for number, movement in enumerate(raw.movement, start=1)
    )
    sheet = Sheet(
        title=_one_line(raw.title) or UNTITLED,
        arena=raw.arena,
        enter=raw.enter,
        level=raw.level or level_of(movements),
        movements=movements,
    )
    if faults:
        faults = _with_line_faults(sheet, faults)
    return sheet, faults


def _with_line_faults(sheet: Sheet, faults: list[str]) -> list[str]:
    """Told all at once: what cannot be read and what cannot be ridden."""
    try:
        lay_out(sheet)
    except SheetError as fault:
        faults = [*faults, *(f for f in fault.faults if _number(f) and f not in faults)]
    return sorted(faults, key=_number)


def _number(fault: str) -> int:
    match = re.match(r"movement (\d+)", fault)
    return int(match[1]) if match else 0


def _checked(number: int, raw: MovementFile, sheet: SheetFile, faults: list[str]) -> Movement:
    def words(terms: list[str], read: Callable[[str], str]) -> tuple[str, ...]:
        found = []
        for term in terms:
            try:
                found.append(read(term))
            except TermError as fault:
                faults.append(f"movement {number}: '{term}': {fault}")
                found.append(term)
        return tuple(found)

    last = len(sheet.movement)
    for other in raw.of:
        if not 1 <= other <= last or other == number:
            faults.append(f"movement {number}: of {other}: no such movement; allowed: 1 to {last}")
    if not (raw.ride or raw.change or raw.of):
        faults.append(f"movement {number}: nothing to ride; allowed: ride, change or of")
    show = _shown(raw.show)
    if raw.show and show is None:
        faults.append(
            f"movement {number}: show '{raw.show}' is not understood; "
            f"allowed: {', '.join(SHOWS)}, also 'from M to K'"
        )
    return Movement(
        number=number,
        ride=words(raw.ride, lambda term: parse_ride(term, sheet.arena).text),
        change=words(raw.change, lambda term: parse_change(term, sheet.arena).text),
        coefficient=raw.coefficient,
        show=show or "",
        text=_one_line(raw.text),
        of=tuple(raw.of),
    )


def _shown(text: str) -> str | None:
    plain = re.sub(r"\b(from|to) ([a-z])\b", lambda m: f"{m[1]} {m[2].upper()}", text.lower())
    return plain if _SHOW_WORDS.match(plain) else None


def level_of(movements: Sequence[Movement]) -> Level:
    """The level a sheet's content asks for: its smallest figure, and whether it has canter."""
    rides = " ".join(term for movement in movements for term in movement.ride)
    changes = " ".join(term for movement in movements for term in movement.change)
    if re.search(r"(?<!half )circle (?:left|right) (?:[6-9]|1[0-4])\b", rides):
        return "ten metre"
    return "first canter" if "canter" in changes else "walk and trot"


def write_sheet(sheet: Sheet) -> str:
    """The sheet in the text form; reading it again gives the same sheet."""
    lines = [
        f"title: {sheet.title}",
        f"arena: {sheet.arena}",
        f"enter: {sheet.enter}",
        f"level: {sheet.level}",
    ]
    for movement in sheet.movements:
        terms = [*movement.ride, *movement.change]
        if movement.of:
            terms.append(f"of {' '.join(str(number) for number in movement.of)}")
        if movement.show:
            terms.append(f"show {movement.show}")
        line = f"{movement.number}  {', '.join(terms)}"
        line += f"  {_quoted(movement.text)}" if movement.text else ""
        line += f"  x{movement.coefficient}" if movement.coefficient != 1 else ""
        lines.append(line)
    return "\n".join(lines) + "\n"


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)


def write_sheet_toml(sheet: Sheet) -> str:
    """The sheet in the TOML form."""
    lines = [
        f"title = {_quoted(sheet.title)}",
        f'arena = "{sheet.arena}"',
        f'enter = "{sheet.enter}"',
        f'level = "{sheet.level}"',
    ]
    for movement in sheet.movements:
        lines += ["", "[[movement]]"]
        if movement.ride:
            lines.append(f"ride = {json.dumps(list(movement.ride))}")
        if movement.change:
            lines.append(f"change = {json.dumps(list(movement.change))}")
        if movement.of:
            lines.append(f"of = {json.dumps(list(movement.of))}")
        if movement.coefficient != 1:
            lines.append(f"coefficient = {movement.coefficient}")
        if movement.show:
            lines.append(f'show = "{movement.show}"')
        if movement.text:
            lines.append(f"text = {_quoted(movement.text)}")
    return "\n".join(lines) + "\n"
