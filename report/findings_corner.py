"""Findings of the corners of a movement, and of corners against the circle beside them."""

from __future__ import annotations

from typing import Final

import numpy as np

from report.findings_turn import corner_findings
from report.measured import About
from report.result import Finding
from report.ridden import Ridden, RiddenSheet, Term
from report.spoilt import spoilt_by
from track.arena import HALF_LENGTH_M, LETTERS
from track.layout import Corner
from track.path import Estimate, Path
from track.shapes import circle_of

BESIDE_M: Final = 40.0
"""A circle so near along the line is the one a corner is held against."""


def corners_of(ridden: Ridden, sheet: RiddenSheet, number: int, run: int) -> list[Finding]:
    """Every finding of the corners inside one movement."""
    line = next(line for line in sheet.layout.movements if line.number == number)
    rows: list[Finding] = []
    for corner in sheet.layout.corners:
        middle = (corner.start_m + corner.end_m) / 2
        if ridden.path is None or not line.start_m <= middle < line.end_m:
            continue
        span = (sheet.time_at(run, corner.start_m), sheet.time_at(run, corner.end_m))
        if not np.isfinite(span).all() or ridden.path.between(*span).size < 3:
            continue
        if spoilt_by(ridden.gaits, *span, sheet) is not None:
            continue
        about = _about(ridden, corner, span)
        circle = _circle_beside(sheet, corner, run)
        radius = None if circle is None else _radius(ridden.path, circle)
        rows += corner_findings(ridden, ridden.path, corner, about, radius)
    return rows


def _about(ridden: Ridden, corner: Corner, span_s: tuple[float, float]) -> About:
    gait = ridden.main_gait(*span_s)
    size = ridden.names.size
    end = "A" if corner.y_m < 0 else "C"
    side = next(
        name
        for name, (x_m, y_m) in LETTERS[size].items()
        if x_m == np.sign(corner.x_m) * 10.0
        and abs(y_m - np.sign(corner.y_m) * (HALF_LENGTH_M[size] - 6.0)) < 0.1
    )
    where = ridden.names.place(f"{end} and {side}")
    return About(
        of=None,
        start_s=span_s[0],
        end_s=span_s[1],
        gait=gait,
        what="the corner",
        where=f"between {where}",
    )


def _circle_beside(sheet: RiddenSheet, corner: Corner, run: int) -> Term | None:
    circles = [t for t in sheet.terms if t.run == run and t.stretch.kind == "circle"]
    near = [(_apart_m(term, corner), term) for term in circles]
    near = [(gap, term) for gap, term in near if gap <= BESIDE_M]
    return min(near, key=lambda pair: pair[0])[1] if near else None


def _apart_m(term: Term, corner: Corner) -> float:
    return max(term.stretch.start_m - corner.end_m, corner.start_m - term.stretch.end_m, 0.0)


def _radius(path: Path, circle: Term) -> Estimate:
    size = circle_of(path, circle.start_s, circle.end_s).diameter_m
    return Estimate(value=size.value / 2, sd=size.sd / 2)
