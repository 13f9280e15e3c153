"""Sentences of the pages that are put together: marks, open findings, times, minutes."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from typing import Final

from report.words import listed

MOVEMENT: Final = "Movement\u00a0{}"


def judge_sentence(mark: Decimal | None, remark: str, underlined: str, felt: Decimal | None) -> str:
    """What a judge gave and wrote, and what the rider had felt.

    Examples
    --------
    >>> judge_sentence(Decimal("6.5"), "late", "", Decimal("7"))
    'The judge gave 6.5 and wrote “late”; it had felt like 7.'
    """
    said = []
    if mark is not None:
        said.append(f"gave {mark}")
    if remark:
        said.append(f"wrote “{remark}”")
    if underlined:
        said.append(f"underlined “{underlined}”")
    judge = f"The judge {listed(said)}" if said else ""
    rider = f"it had felt like {felt}" if felt is not None else ""
    line = "; ".join(part for part in (judge, rider) if part)
    return f"{line[:1].upper()}{line[1:]}." if line else ""


def folded(count: int, why: bool) -> str:
    """What a row folds away: the ground of its sentence, and how many more findings.

    Examples
    --------
    >>> folded(0, True), folded(7, True), folded(1, False)
    ('Why', 'Why, and 7 more findings', 'One finding')
    """
    number = "one" if count == 1 else str(count)
    more = " more" if why else ""
    findings = f"{number}{more} finding{'s' if count > 1 else ''}"
    if count == 0:
        return "Why"
    return f"Why, and {findings}" if why else f"{findings[0].upper()}{findings[1:]}"


def mark_of(movement: int | None, name: str) -> str:
    """What a mark is for."""
    return name.capitalize() if movement is None else MOVEMENT.format(movement)


def untold_sentence(near: int, untold: int, way: str, settled: int) -> str:
    """How many findings are open, and what would settle most of them.

    Examples
    --------
    >>> untold_sentence(2, 5, "a walk lap along the boards", 4)
    '5 findings cannot be told. A walk lap along the boards would settle 4 of them. 2 more are \
about right, finer than a phone can tell.'
    """
    said = []
    if untold:
        said.append(
            "One finding cannot be told." if untold == 1 else f"{untold} findings cannot be told."
        )
        if way:
            some = "one" if settled == 1 else f"{settled}"
            of_them = "it" if untold == 1 else "all" if settled == untold else some
            of_them += " of them" if untold > 1 else ""
            said.append(f"{way[0].upper()}{way[1:]} would settle {of_them}.")
    if near:
        more = " more" if untold else ""
        said.append(
            f"One{more} is about right, finer than a phone can tell."
            if near == 1
            else f"{near}{more} are about right, finer than a phone can tell."
        )
    return " ".join(said)


def clock(seconds: float) -> str:
    """Minutes and seconds of a stretch of time.

    Examples
    --------
    >>> clock(83.4)
    '1:23'
    """
    whole = round(seconds)
    sign = "−" if whole < 0 else ""
    return f"{sign}{abs(whole) // 60}:{abs(whole) % 60:02d}"


def minutes(seconds: float | None) -> str:
    """Minutes to a tenth, for a table.

    Examples
    --------
    >>> minutes(150)
    '2.5'
    """
    return "–" if seconds is None else f"{seconds / 60:.1f}"


def minutes_line(lines: Iterable[tuple[str, str]]) -> str:
    """Minutes in one line.

    Examples
    --------
    >>> minutes_line([("walk", "2.5"), ("trot", "4.3")])
    'Walk 2.5, trot 4.3.'
    """
    words = ", ".join(f"{name} {time}" for name, time in lines)
    return f"{words[:1].upper()}{words[1:]}."
