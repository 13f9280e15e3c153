"""Findings as a row says them: one by one, and the unsettled ones in a single line."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

from report import words_labels as labels
from report import words_page as w
from report.headline import Told, cost, settles_most
from report.result import Finding
from report.words import listed

PART_MOST: Final = 6
"""Findings of a row that its plan can point at."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Say:
    """One finding as a row prints it.

    Attributes
    ----------
    finding : Finding
    kind : str
        Class of the style sheet: the verdict with a hyphen for its space.
    word : str
        The verdict in words.
    name : str
        The measure in words.
    since : str
        When it happened, in words.
    part : int
        Number of the part of the plan it points at; 0 for none.
    """

    finding: Finding
    kind: str
    word: str
    name: str
    since: str
    part: int = 0


def say_all(
    findings: Sequence[Finding],
    since_words: Callable[[float | None], str],
    *,
    pointing: bool = True,
) -> tuple[Say, ...]:
    """Findings in the order they are read: outside, within, about right, cannot tell, measured."""
    order = {"outside": 0, "within": 1, "near": 2, "cannot tell": 3, None: 4}
    made = [f for f in findings if f.value is not None]
    ranked = sorted(made, key=lambda f: (order[f.verdict], -_weight(f)))
    out, part = [], 0
    for finding in ranked:
        points = _points(finding) and part < PART_MOST and pointing
        part += points
        out.append(
            Say(
                finding=finding,
                kind=(finding.verdict or "measured").replace(" ", "-"),
                word=labels.VERDICTS[finding.verdict],
                name=labels.MEASURES.get(finding.measure, finding.measure),
                since=since_words(finding.start_s),
                part=part if points else 0,
            )
        )
    return tuple(out)


def _points(finding: Finding) -> bool:
    return finding.start_s is not None and finding.verdict is not None


def _weight(finding: Finding) -> float:
    return cost(Told(finding=finding, movement=None, run=1, coefficient=1))


def untold_line(unsure: Sequence[Say], missing: Sequence[Finding]) -> str:
    """One line for everything that is about right, cannot be told, or could not be measured."""
    near = [s.name for s in unsure if s.finding.verdict == "near"]
    open_ = [s.name for s in unsure if s.finding.verdict == "cannot tell"]
    lost = [labels.MEASURES.get(f.measure, f.measure) for f in missing]
    way, _ = settles_most([s.finding for s in unsure])
    parts = []
    if near:
        parts.append(w.ROW_NEAR.format(_once(near)))
    if open_:
        parts.append(w.ROW_UNTOLD.format(_once(open_)) + (w.ROW_SETTLES.format(way) if way else ""))
    if lost:
        parts.append(w.ROW_MISSING.format(_once(lost)))
    return " ".join(f"{part}." for part in parts)


def _once(names: Sequence[str]) -> str:
    return listed(list(dict.fromkeys(names)))
