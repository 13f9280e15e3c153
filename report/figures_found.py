"""Every circle and half circle of the ride as rows of the result, with a sheet or without."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from report.findings import turn_is_left
from report.findings_rhythm import figure_rhythm
from report.findings_shape import AskedShape, circle_findings, half_circle_findings
from report.measured import About
from report.result import FigureRow, MovementRow
from report.ridden import Ridden, Term
from report.sheet_found import Found
from report.spoilt import spoilt_by
from report.words import clock
from track.arena import LETTERS
from track.figures import Figure, find_figures

SHAPES: Final = frozenset({
    "diameter", "width", "out_of_round", "length_minus_width", "quarter_spread", "second_half",
    "centre_offset", "tempo", "tempo_change", "tempo_range", "stride_time_cv",
})  # fmt: skip
SAME: Final = 0.4
"""Two figures that share this much of the shorter one are the same."""


def figure_rows(ridden: Ridden, found: Found, movements: Sequence[MovementRow]) -> list[FigureRow]:
    """Figures of the sheet with the findings of their movement, then those nobody asked for."""
    rows = [] if found.ridden is None else _asked_figures(found.ridden.terms, movements)
    if ridden.local is not None:
        placement = found.track.placement
        half_length_m = None if placement is None else placement.arena.half_length_m
        for figure in find_figures(ridden.local, found.track.motion, half_length_m=half_length_m):
            if not any(_same(figure, row) for row in rows):
                rows.append(_free_figure(ridden, figure))
    return sorted(rows, key=lambda row: row.start_s)


def _same(figure: Figure, row: FigureRow) -> bool:
    shared = min(figure.end_s, row.end_s) - max(figure.start_s, row.start_s)
    return shared > SAME * min(figure.end_s - figure.start_s, row.end_s - row.start_s)


def _asked_figures(terms: Sequence[Term], movements: Sequence[MovementRow]) -> list[FigureRow]:
    findings = {(row.number, row.run): row.findings for row in movements}
    rows = []
    for term in terms:
        if term.stretch.kind not in ("circle", "half circle"):
            continue
        own = [
            finding
            for finding in findings.get((term.movement, term.run), [])
            if finding.of == term.of and finding.measure in SHAPES
        ]
        rows.append(
            FigureRow(
                kind="circle" if term.stretch.kind == "circle" else "half circle",
                rein="left" if turn_is_left(term.stretch) else "right",
                start_s=term.start_s,
                end_s=term.end_s,
                movement=term.movement,
                asked_m=term.stretch.nominal_m,
                findings=own,
            )
        )
    return rows


def _free_figure(ridden: Ridden, figure: Figure) -> FigureRow:
    """Measure a figure nobody asked for: its size is told, its roundness rated."""
    span_s = (figure.start_s, figure.end_s)
    about = About(
        of=None,
        start_s=figure.start_s,
        end_s=figure.end_s,
        gait=ridden.main_gait(*span_s),
        what=f"the {figure.kind}",
        where=_where(ridden, figure),
    )
    path = ridden.path if ridden.path is not None else ridden.local
    findings = []
    if path is not None:
        measure = circle_findings if figure.kind == "circle" else half_circle_findings
        asked = AskedShape(shift_m=2 * ridden.track_offset_m, placed=ridden.path is not None)
        findings = measure(ridden, path, span_s, about, asked)
        if spoilt_by(ridden.gaits, *span_s) is None:
            findings += figure_rhythm(ridden, about, figure.kind)
    return FigureRow(
        kind=figure.kind,
        rein=figure.rein,
        start_s=figure.start_s,
        end_s=figure.end_s,
        movement=None,
        findings=findings,
    )


def _where(ridden: Ridden, figure: Figure) -> str:
    """Say where a figure begins: by the nearest letter on the boards, else by the time."""
    if ridden.path is None:
        return f"at {clock(figure.start_s)}"
    x_m, y_m = (float(v) for v in ridden.path.at(figure.start_s))
    letters = {name: at for name, at in LETTERS[ridden.names.size].items() if name not in "DLXIG"}
    nearest = min(
        letters, key=lambda name: np.hypot(letters[name][0] - x_m, letters[name][1] - y_m)
    )
    return f"near {ridden.names.place(nearest)}"
