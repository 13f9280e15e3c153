"""On which rein a finding was ridden."""

from __future__ import annotations

from collections.abc import Sequence

from report.ratings import Side, Sided
from report.result import FigureRow, Finding, MovementRow
from track.layout import Layout, MovementLine


def sided_findings(
    layout: Layout | None, movements: Sequence[MovementRow], figures: Sequence[FigureRow]
) -> list[Sided]:
    """Every finding of a ride once, with its rein."""
    sided: list[Sided] = []
    lines = {line.number: line for line in layout.movements} if layout else {}
    for row in movements:
        sided += [Sided(finding=f, side=_side(lines[row.number], f)) for f in row.findings]
    for figure in figures:
        if figure.movement is None:
            sided += [Sided(finding=f, side=figure.rein) for f in figure.findings]
    return sided


def _side(line: MovementLine, finding: Finding) -> Side:
    if finding.of is None:
        return _rein_at(line, (line.start_m + line.end_m) / 2)
    kind, number = finding.of.split(":")
    if kind == "change":
        return _rein_at(line, line.changes[int(number) - 1].start_m)
    written = [stretch for stretch in line.stretches if not stretch.filled]
    return written[int(number) - 1].rein or "straight"


def _rein_at(line: MovementLine, s_m: float) -> Side:
    for stretch in line.stretches:
        if stretch.start_m <= s_m < stretch.end_m:
            return stretch.rein or "straight"
    return "straight"
