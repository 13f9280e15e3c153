"""Reading and writing test sheets: plain text as a rider types it, or TOML."""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Annotated, Any, Final

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from ingest.errors import SheetError
from track.arena import SIZES, Size
from track.change_terms import parse_change
from track.lay_out import lay_out
from track.sheet import GaitName, Level, Movement, Sheet
from track.terms import TermError, is_change, parse_ride

LARGEST_BYTES: Final = 200_000
LEVELS: Final[tuple[Level, ...]] = ("walk and trot", "first canter", "ten metre")
UNTITLED: Final = "Untitled test"
GAITS: Final[tuple[GaitName, ...]] = ("walk", "trot", "canter", "halt")
SHOWS: Final = ("stretch", "lengthened strides", "give and retake")

_HEAD: Final = re.compile(r"^\s*(title|arena|enter|level)\s*[:=]\s*(.*?)\s*$", re.IGNORECASE)
_MARK: Final = re.compile(r"^\s*(\d+)\s*[.):]?(?:\s+(.*))?$")
_TIMES: Final = re.compile(r"(?:^|[\s,])(?:x|×|coefficient)\s*(\d+)\s*$", re.IGNORECASE)
_QUOTED: Final = re.compile(r'"(?:[^"\\]|\\.)*"')
_COMMENT: Final = re.compile(r"(^|\s)#.*$")
_OF: Final = re.compile(r"^(?:transitions? )?of ((?:\d+(?: ?and ?| )?)+)$", re.IGNORECASE)
_SHOW: Final = re.compile(r"^show (.+)$", re.IGNORECASE)
_SHOW_WORDS: Final = re.compile(rf"^({'|'.join(SHOWS)})(?: from ([A-Z]) to ([A-Z]))?$")


class MovementFile(BaseModel):
    """One ``[[movement]]`` of a sheet in TOML."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    ride: Annotated[list[str], Field(description="terms in the order ridden")] = []
    change: Annotated[list[str], Field(description="changes of gait in riding order")] = []
    coefficient: Annotated[int, Field(ge=1, le=9)] = 1
    show: Annotated[str, Field(description="stretch | lengthened strides | give and retake")] = ""
    text: Annotated[str, Field(description="for people")] = ""
    of: Annotated[list[int], Field(description="a mark for other movements' transitions")] = []


class SheetFile(BaseModel):
    """A sheet in TOML."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    title: str = UNTITLED
    arena: Size
    enter: GaitName
    level: Level | None = None
    movement: Annotated[list[MovementFile], Field(min_length=1)]


def sheet_json_schema() -> dict[str, Any]:
    """JSON Schema of the TOML form."""
    return SheetFile.model_json_schema()


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
    raw = _from_toml(text, faults) if is_toml else _from_text(text, faults)
    if raw is None:
        raise SheetError(*(f"{name}: {fault}" for fault in faults))
    sheet, term_faults = _canonical(raw)
    faults += term_faults
    if faults:
        raise SheetError(*(f"{name}: {fault}" for fault in faults))
    return sheet


def _from_toml(text: str, faults: list[str]) -> SheetFile | None:
    try:
        return _validated(tomllib.loads(text), faults)
    except (tomllib.TOMLDecodeError, RecursionError) as fault:
        faults.append(f"not valid TOML: {fault}")
    return None


def _validated(fields: dict[str, Any], faults: list[str]) -> SheetFile | None:
    try:
        return SheetFile.model_validate(fields)
    except ValidationError as fault:
        for error in fault.errors():
            faults.append(f"{_where(error['loc'])}{error['msg'].lower()}")
    return None


def _where(loc: Sequence[int | str]) -> str:
    if len(loc) >= 2 and loc[0] == "movement" and isinstance(loc[1], int):
        rest = ".".join(str(part) for part in loc[2:])
        return f"movement {loc[1] + 1}: {rest}: " if rest else f"movement {loc[1] + 1}: "
    return "".join(f"{part}: " for part in loc)


def _from_text(text: str, faults: list[str]) -> SheetFile | None:
    head: dict[str, str] = {}
    movements: list[dict[str, Any]] = []
    for number, line in enumerate(text.splitlines(), start=1):
        key = _HEAD.match(line)
        plain = line if key else _without_comment(line)
        if not plain.strip():
            continue
        mark = _MARK.match(plain)
        if key and not movements:
            name = key[1].lower()
            head[name] = key[2] if name == "title" else _without_comment(key[2]).strip()
        elif mark:
            if int(mark[1]) != len(movements) + 1:
                faults.append(
                    f"line {number}: number {mark[1]} where {len(movements) + 1} is expected; "
                    "movements are numbered from 1 without gaps"
                )
            movements.append(_movement(mark[2] or ""))
        else:
            faults.append(
                f"line {number}: '{plain.strip()}' is not understood; allowed: title:, arena:, "
                "enter:, level:, or a movement's number and its terms"
            )
    return _headed(head, movements, faults)


def _without_comment(line: str) -> str:
    """A line without what follows ``#``, unless it stands in quotation marks."""
    quoted = _QUOTED.search(line)
    if quoted and "#" not in line[: quoted.start()]:
        return line[: quoted.end()] + _COMMENT.sub("", line[quoted.end() :])
    return _COMMENT.sub("", line)


def _headed(
    head: dict[str, str], movements: list[dict[str, Any]], faults: list[str]
) -> SheetFile | None:
    size = re.sub(r"\s|m\b", "", head.get("arena", "").lower().replace("×", "x"))
    enter = head.get("enter", "").lower().removeprefix("working ").removeprefix("medium ")
    level = head.get("level", "").lower()
    count = len(faults)
    if size not in SIZES:
        faults.append(f"arena: '{head.get('arena', '')}' is not an arena; allowed: 20x40, 20x60")
    if enter not in GAITS:
        faults.append(f"enter: '{head.get('enter', '')}' is no gait; allowed: {', '.join(GAITS)}")
    if level and level not in LEVELS:
        faults.append(f"level: '{level}' is not known; allowed: {', '.join(LEVELS)}")
    if not movements:
        faults.append("no movements; a movement is a line such as '1  line A X C'")
    if len(faults) > count:
        return None
    fields = {"title": head.get("title", ""), "arena": size, "enter": enter}
    return _validated(fields | {"level": level or None, "movement": movements}, faults)


def _movement(line: str) -> dict[str, Any]:
    """One line of the text form as the fields of a ``[[movement]]``."""
    found: dict[str, Any] = {"ride": [], "change": []}
    quoted = _QUOTED.search(line)
    if quoted:
        found["text"] = _unquoted(quoted[0])
        line = f"{line[: quoted.start()]} {line[quoted.end() :]}"
    times = _TIMES.search(line)
    if times:
        found["coefficient"] = int(times[1])
        line = line[: times.start()]
    for term in re.split(r"[,;]", line):
        plain = " ".join(term.split())
        of, show = _OF.match(plain), _SHOW.match(plain)
        if of:
            found["of"] = [int(number) for number in re.findall(r"\d+", of[1])]
        elif show:
            found["show"] = show[1]
        elif plain and plain.lower() not in ("salute", "immobility"):
            found["change" if is_change(plain) else "ride"].append(plain)
    return found


def _unquoted(text: str) -> str:
    try:
        return str(json.loads(text))
    except json.JSONDecodeError:
        return text[1:-1]


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
