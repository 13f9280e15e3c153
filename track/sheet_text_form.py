"""The text form of a sheet: one line per mark, as a rider types it."""

from __future__ import annotations

import json
import re
from typing import Any, Final

from track.arena import SIZES
from track.sheet_model import GAITS, LEVELS, SheetFile, validated
from track.terms import is_change
from track.typed import entered, shown, terms_of
from track.words import tidy

_HEAD: Final = re.compile(r"^\s*(title|arena|enter|level)\s*[:=]\s*(.*?)\s*$", re.IGNORECASE)


_MARK: Final = re.compile(r"^\s*(\d+)\s*[.):]?(?:\s+(.*))?$")


_TIMES: Final = re.compile(r"(?:^|[\s,])(?:x|×|coefficient)\s*(\d+)\s*$", re.IGNORECASE)


_QUOTED: Final = re.compile(r'"(?:[^"\\]|\\.)*"')


_COMMENT: Final = re.compile(r"(^|\s)#.*$")


_OF: Final = re.compile(r"^(?:transitions? )?of ((?:\d+(?: ?and ?| )?)+)$", re.IGNORECASE)


def from_text(text: str, faults: list[str]) -> SheetFile | None:
    """Read the text form into the fields of a sheet's file; None when its head has faults."""
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
    enter = _entered(enter, movements, faults)
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
    return validated(fields | {"level": level or None, "movement": movements}, faults)


def _entered(enter: str, movements: list[dict[str, Any]], faults: list[str]) -> str:
    """The gait at A: the head's, else what the first line says ("enter in working trot").

    Who enters at A rides up the centre line, named or not.
    """
    for number, movement in enumerate(movements, start=1):
        typed = movement.pop("enter", None)
        if typed and number == 1 and not any("A" in tidy(term) for term in movement["ride"]):
            movement["ride"].insert(0, "line A X")
        if typed and number == 1 and not enter:
            enter = typed
        elif typed and typed != enter:
            faults.append(f"movement {number}: enter in {typed}, and the head says enter: {enter}")
    return enter


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
    for term in terms_of(line):
        of, show, enter = _OF.match(term), shown(term), entered(term)
        if of:
            found["of"] = [int(number) for number in re.findall(r"\d+", of[1])]
        elif show:
            found["show"] = show
        elif enter:
            found["enter"] = enter
        else:
            found["change" if is_change(term) else "ride"].append(term)
    return found


def _unquoted(text: str) -> str:
    try:
        return str(json.loads(text))
    except json.JSONDecodeError:
        return text[1:-1]
