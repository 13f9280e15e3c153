"""From a judge's words to what a phone may add, cannot see, or must not argue with."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from importlib import resources
from typing import Final

from pydantic import BaseModel, ConfigDict

from report.page_marks import JudgeMark, JudgeSheet
from report.result import Finding, Gait, Result

NOTHING_KNOWN: Final = "No measure of this recording belongs to this remark."
NOTHING_FOUND: Final = "Nothing was measured here that belongs to this remark."
NOT_ASTRAY: Final = "Where the line left the test could not be told."
COURSE: Final = "course"
"""The row of remarks that are set beside the line itself."""
MOST_SAID: Final = 3
_FILLERS: Final = re.compile(
    r"^bit\b|\b(?:a bit|a|an|the|little|slightly|quite|rather|very|somewhat|just|too|so)\b"
)

_APART: Final = re.compile(r"[;,.:/!?()+&\n]| - ")
"""What parts one remark from the next: no pattern reaches across it."""


class RemarkRow(BaseModel):
    """One meaning a remark can have.

    Attributes
    ----------
    name : str
    words : list of str
        Patterns; ``unless`` holds longer ones in which a pattern does not count.
    measures : list of str
        Measures that may be set beside the remark.
    cannot : str
        What a phone does not see of it.
    argued : bool
        False where nothing may be set beside it, either way.
    yields : list of str
        Rows that stay silent when this one speaks.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    name: str
    words: list[str]
    unless: list[str] = []
    measures: list[str]
    cannot: str
    argued: bool = True
    yields: list[str]


@cache
def remark_rows() -> tuple[RemarkRow, ...]:
    """Read the table that ships with the tool."""
    text = resources.files("report").joinpath("remarks.toml").read_text(encoding="utf-8")
    return tuple(RemarkRow.model_validate(row) for row in tomllib.loads(text)["row"])


def _plain(text: str) -> str:
    """Lower case, letters and digits only, without words that only soften."""
    letters = re.sub(r"[^a-z0-9* ]+", " ", text.lower().replace("'", ""))
    return re.sub(r"\s+", " ", _FILLERS.sub(" ", letters)).strip()


@cache
def _pattern(words: tuple[str, ...]) -> re.Pattern[str]:
    ends = {True: r"\w*", False: r"\b"}
    plain = (_plain(word) for word in words)
    return re.compile(
        "|".join(r"\b" + re.escape(w.rstrip("*")) + ends[w.endswith("*")] for w in plain if w)
    )


def meanings(remark: str, underlined: str = "") -> tuple[RemarkRow, ...]:
    """Find every meaning of a remark, the words of the sheet that were underlined included.

    Parameters
    ----------
    remark, underlined : str
        Free text; several remarks may stand in one.

    Examples
    --------
    >>> [row.name for row in meanings("Late; circle not round")]
    ['shape', 'place']
    """
    parts = [_plain(part) for text in (remark, underlined) for part in _APART.split(text)]
    found = [row for row in remark_rows() if any(_speaks(row, part) for part in parts)]
    silent = {name for row in found for name in row.yields}
    return tuple(row for row in found if row.name not in silent)


def _speaks(row: RemarkRow, text: str) -> bool:
    if row.unless:
        text = _pattern(tuple(row.unless)).sub(" ", text)
    return bool(_pattern(tuple(row.words)).search(text))


def explain(mark: JudgeMark, findings: Sequence[Finding], astray: Sequence[str] = ()) -> str:
    """Say what the phone may add to one mark's remark.

    Parameters
    ----------
    mark : JudgeMark
    findings : sequence of Finding
        Those of the same movement.
    astray : sequence of str
        Where the line left the test there.
    """
    if not f"{mark.remark}{mark.underlined}".strip():
        return ""
    found = meanings(mark.remark, mark.underlined)
    barred = [row for row in found if not row.argued]
    if barred:
        return barred[0].cannot
    said = [_course(astray) if row.name == COURSE else _explained(row, findings) for row in found]
    return " ".join(said) or NOTHING_KNOWN


def _course(astray: Sequence[str]) -> str:
    return " ".join(astray) or NOT_ASTRAY


def _explained(row: RemarkRow, findings: Sequence[Finding]) -> str:
    if not row.measures:
        return row.cannot
    said = [f.say for f in findings if f.measure in row.measures and f.value is not None]
    told = " ".join(said[:MOST_SAID]) or NOTHING_FOUND
    return f"{told} {row.cannot}".strip()


def explained(sheet: JudgeSheet, result: Result) -> JudgeSheet:
    """Set what the phone may add beside every remark."""
    rows = []
    for mark in sheet.rows:
        here = [f for m in result.movements if m.number == mark.movement for f in m.findings]
        astray = [e.text for e in result.course_errors if e.movement == mark.movement]
        rows.append(replace(mark, adds=explain(mark, here, astray)))
    return replace(sheet, rows=tuple(rows))


def gaits_to_rest(sheet: JudgeSheet, result: Result) -> set[Gait]:
    """Gaits in which a judge saw uneven steps: no homework is offered in them."""
    barred = {
        mark.movement
        for mark in sheet.rows
        if any(not row.argued for row in meanings(mark.remark, mark.underlined))
    }
    if barred - {m.number for m in result.movements}:  # of no one movement: of all
        return {"walk", "trot", "canter"}
    return {
        finding.gait
        for row in result.movements
        if row.number in barred
        for finding in row.findings
        if finding.gait in ("walk", "trot", "canter")
    }


def without_homework(result: Result, gaits: set[Gait]) -> Result:
    """Withdraw the actions offered in some gaits."""
    if not gaits:
        return result

    def rested(finding: Finding) -> Finding:
        return finding.model_copy(update={"do": ""}) if finding.gait in gaits else finding

    movements = [
        row.model_copy(update={"findings": [rested(f) for f in row.findings]})
        for row in result.movements
    ]
    figures = [
        row.model_copy(update={"findings": [rested(f) for f in row.findings]})
        for row in result.figures
    ]
    return result.model_copy(update={"movements": movements, "figures": figures})
