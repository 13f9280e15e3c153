"""Left and right circles folded over one another, each about its own middle."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from markupsafe import Markup

from report import words_labels as labels
from report import words_page as w
from report.arena_svg import Frame, arrow, line_d, scale_bar, stroke, svg, text
from report.page_path import DrawnPath
from report.result import FigureRow, Gait, Rein, Result
from track.path import Floats

NOMINALS_M: Final = (6.0, 8.0, 10.0, 12.0, 15.0, 20.0)
PX_PER_M: Final = 13.0
MOST_DRAWN: Final = 6
"""Circles of one hand in one drawing; more than that is a tangle."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Folded:
    """One circle turned so that it begins at the right, going up, to the left.

    Attributes
    ----------
    rein : {"left", "right"}
    gait : str
    x_m, y_m : array, shape (n,), m
        About the circle's own middle.
    radius_m : float, m
    """

    rein: Rein
    gait: Gait
    x_m: Floats
    y_m: Floats
    radius_m: float


def circle_middle(x_m: Floats, y_m: Floats) -> tuple[float, float, float]:
    """Middle and radius of the circle through points, by linear least squares (Kåsa 1976).

    Good enough to lay whole circles over one another; sizes on the page come from the findings.

    Examples
    --------
    >>> turn = np.linspace(0, 6.2, 50)
    >>> [round(v, 6) for v in circle_middle(2 + 9 * np.cos(turn), 1 + 9 * np.sin(turn))]
    [2.0, 1.0, 9.0]
    """
    design = np.column_stack([2 * x_m, 2 * y_m, np.ones_like(x_m)])
    a, b, c = np.linalg.lstsq(design, x_m**2 + y_m**2, rcond=None)[0]
    return float(a), float(b), float(np.sqrt(c + a * a + b * b))


def fold(drawn: DrawnPath, figure: FigureRow, gait: Gait) -> Folded:
    """Turn one circle about its middle, and over where it was ridden to the right."""
    piece = drawn.whole(figure.start_s, figure.end_s)
    a, b, radius = circle_middle(piece.x_m, piece.y_m)
    x, y = piece.x_m - a, piece.y_m - b
    if figure.rein == "right":
        x = -x
    start = np.arctan2(y[0], x[0])
    cos, sin = np.cos(-start), np.sin(-start)
    return Folded(
        rein=figure.rein, gait=gait, x_m=x * cos - y * sin, y_m=x * sin + y * cos, radius_m=radius
    )


def circle_groups(result: Result, drawn: DrawnPath) -> dict[tuple[float, Gait], list[Folded]]:
    """Whole circles by nominal size and gait, those on both hands only."""
    groups: dict[tuple[float, Gait], list[Folded]] = {}
    for figure in result.figures:
        if figure.kind != "circle":
            continue
        gait = gait_of(result, figure)
        folded = fold(drawn, figure, gait)
        groups.setdefault((nominal_m(figure, folded.radius_m), gait), []).append(folded)
    both = {
        key: rows for key, rows in groups.items() if {r.rein for r in rows} == {"left", "right"}
    }
    return dict(sorted(both.items(), key=lambda item: (-item[0][0], item[0][1])))


def gait_of(result: Result, figure: FigureRow) -> Gait:
    """The gait of most of a figure."""
    shares: dict[Gait, float] = {}
    for bout in result.bouts:
        overlap = min(bout.end_s, figure.end_s) - max(bout.start_s, figure.start_s)
        shares[bout.gait] = shares.get(bout.gait, 0.0) + max(0.0, overlap)
    return max(shares, key=lambda gait: shares[gait]) if shares else "unknown"


def nominal_m(figure: FigureRow, radius_m: float) -> float:
    """The asked size that a circle stands for: the nearest that a rider's body could mean."""
    if figure.asked_m is not None:
        return figure.asked_m
    targets = [f.target for f in figure.findings if f.measure == "diameter" and f.target]
    body = targets[0] if targets else 2 * radius_m
    return min(NOMINALS_M, key=lambda size: abs(size - 1.4 - body))


def folded_plan(rows: Sequence[Folded], nominal: float, gait: Gait, name: str) -> Markup:
    """Draw circles of one size and gait over one another."""
    reach = max(float(np.hypot(r.x_m, r.y_m).max()) for r in rows) + 1.2
    frame = Frame(
        left_m=-reach, right_m=reach + 1.8, low_m=-reach - 1.2, high_m=reach, px_per_m=PX_PER_M
    )
    parts = [_cross(frame, reach)]
    for rein, kind in (("right", "gait fold"), ("left", "gait fold ink")):
        hand = [r for r in rows if r.rein == rein][:MOST_DRAWN]
        parts += [stroke(line_d(frame, r.x_m, r.y_m), f"{kind} {r.gait}") for r in hand]
    parts += [*_start(frame, rows), *_names(frame, rows), scale_bar(frame, 2.0)]
    counts = {rein: sum(r.rein == rein for r in rows) for rein in ("left", "right")}
    title = w.FOLDED_TITLE.format(nominal, labels.GAITS[gait])
    desc = w.FOLDED_DESC.format(counts["left"], counts["right"])
    return svg(frame, parts, title=title, desc=desc, name=name)


def _cross(frame: Frame, reach: float) -> Markup:
    across = line_d(frame, np.array([-reach, reach]), np.zeros(2))
    down = line_d(frame, np.zeros(2), np.array([-reach, reach]))
    return stroke(across + down, "centre")


def _start(frame: Frame, rows: Sequence[Folded]) -> list[Markup]:
    radius = float(np.mean([r.radius_m for r in rows]))
    px, py = frame.px(radius, 0.0)
    tick = stroke(f"M{px - 9:.1f} {py:.1f}h18", "onset")
    return [tick, text(px - 13, py - 5, w.BEGINS, "mark", anchor="end"), _way(frame, rows[0])]


def _way(frame: Frame, row: Folded) -> Markup:
    i = len(row.x_m) // 8
    heading = np.arctan2(row.y_m[i + 1] - row.y_m[i - 1], row.x_m[i + 1] - row.x_m[i - 1])
    return arrow(frame, float(row.x_m[i]), float(row.y_m[i]), float(heading), "arrow ink")


def _names(frame: Frame, rows: Sequence[Folded]) -> list[Markup]:
    """Which hand a line is, written where the two lie furthest apart."""
    left = next(r for r in rows if r.rein == "left")
    right = next(r for r in rows if r.rein == "right")
    out = []
    for row, angle, kind in ((left, 2.36, "on-line"), (right, 3.93, "on-line bark")):
        bearing = np.unwrap(np.arctan2(row.y_m, row.x_m))
        i = int(np.argmin(np.abs((bearing - bearing[0]) - angle)))
        px, py = frame.px(float(row.x_m[i]) * 0.7, float(row.y_m[i]) * 0.7)
        words = w.LEFT_LINE if row.rein == "left" else w.RIGHT_LINE
        out.append(text(px + 20, py + 4, words, kind))
    return out
