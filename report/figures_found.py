"""Every circle and half circle of the ride as rows of the result, with a sheet or without."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from report.findings import turn_is_left
from report.result import FigureRow, Finding, MovementRow
from report.ridden import Ridden, Term
from report.sheet_found import Found

SHAPES = frozenset({
    "diameter", "width", "out_of_round", "length_minus_width", "quarter_spread", "second_half",
    "centre_offset", "tempo", "tempo_change", "tempo_range",
})  # fmt: skip


def figure_rows(ridden: Ridden, found: Found, movements: Sequence[MovementRow]) -> list[FigureRow]:
    """Figures of the sheet with the findings of their movement, then those nobody asked for."""
    rows = [] if found.ridden is None else _asked_figures(found.ridden.terms, movements)
    return sorted(rows, key=lambda row: row.start_s)


def _asked_figures(terms: Sequence[Term], movements: Sequence[MovementRow]) -> list[FigureRow]:
    findings = {(row.number, row.run): row.findings for row in movements}
    rows = []
    for term in terms:
        kind = term.stretch.kind
        if kind in ("circle", "half circle"):
            own = [
                f
                for f in findings.get((term.movement, term.run), [])
                if f.of == term.of and f.measure in SHAPES
            ]
            rows.append(_row("circle" if kind == "circle" else "half circle", term, own))
    return rows


def _row(kind: Literal["circle", "half circle"], term: Term, own: list[Finding]) -> FigureRow:
    return FigureRow(
        kind=kind,
        rein="left" if turn_is_left(term.stretch) else "right",
        start_s=term.start_s,
        end_s=term.end_s,
        movement=term.movement,
        findings=own,
    )
