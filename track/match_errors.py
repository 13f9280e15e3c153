"""Errors of course: what was left out, ridden again, turned the wrong way, or ridden elsewhere."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Final

import numpy as np

from track.layout import Layout, MovementLine, Stretch
from track.match_read import Reading, Segment
from track.matched import CourseError, ErrorKind

LEAST_M: Final = 12.0
"""A shorter jump along the line is an inexact figure, not an error of course."""
LEAST_ASTRAY_S: Final = 4.0


def errors_of(reading: Reading, segments: Sequence[Segment]) -> tuple[CourseError, ...]:
    """Errors between neighbouring segments of one run, in order of time."""
    found: list[CourseError] = []
    for before, after in pairwise(segments):
        if before.run != after.run or not after.after_break:
            continue
        error = _between(reading, before, after, segments)
        if error is not None:
            found.append(error)
    return tuple(found)


def _between(
    reading: Reading, before: Segment, after: Segment, segments: Sequence[Segment]
) -> CourseError | None:
    jump = after.start_m - before.end_m
    left_s = float(reading.ridden.t_s[before.last])
    back_s = float(reading.ridden.t_s[after.first])
    kind = _kind(reading, before, after)
    if abs(jump) < LEAST_M and (kind != "wrong rein" and back_s - left_s < LEAST_ASTRAY_S):
        return None
    if kind == "left out" and _ridden_elsewhere(before.end_m, after.start_m, before.run, segments):
        kind = "out of order"
    low, high = sorted((before.end_m, after.start_m))
    line = _movement_of(reading.layout, low, high, before.end_m, kind)
    x, y = (float(values[before.last]) for values in (reading.ridden.x_m, reading.ridden.y_m))
    return CourseError(
        movement=line.number,
        run=before.run,
        kind=kind,
        t_s=left_s,
        back_s=back_s,
        x_m=x,
        y_m=y,
        text=_text(reading.layout, line, kind, (low, high), back_s - left_s),
    )


def _kind(reading: Reading, before: Segment, after: Segment) -> ErrorKind:
    jump = after.start_m - before.end_m
    astray_s = (after.first - before.last) * 0.5
    if astray_s > 2.0 and _turned_other_way(reading, before, after):
        return "wrong rein"
    if jump >= LEAST_M:
        return "left out"
    return "ridden again" if jump <= -LEAST_M else "off the course"


def _turned_other_way(reading: Reading, before: Segment, after: Segment) -> bool:
    """Whether the first turn after leaving goes the other way than the line's."""
    layout, ridden = reading.layout, reading.ridden
    ahead = (layout.s_m >= before.end_m - 4.0) & (layout.s_m <= before.end_m + 25.0)
    bends = layout.curvature_1m[ahead]
    asked = bends[np.abs(bends) > 0.05]
    here = slice(max(before.last - 4, 0), min(after.first, before.last + 16))
    turn = ridden.turn_rads[here]
    turned = turn[np.abs(turn) > 0.25]
    if asked.size == 0 or turned.size < 2:
        return False
    return bool(np.sign(asked[0]) != np.sign(turned[:4].mean()))


def _ridden_elsewhere(low: float, high: float, run: int, segments: Sequence[Segment]) -> bool:
    """Whether what was jumped over was ridden at another time of the run."""
    marks = np.arange(low + 2.0, high - 2.0, 1.0)
    ridden = np.zeros(marks.size, dtype=bool)
    for segment in segments:
        if segment.run == run:
            ridden |= (marks >= segment.start_m) & (marks <= segment.end_m)
    return bool(marks.size and ridden.mean() > 0.7)


def _movement_of(
    layout: Layout, low: float, high: float, left_m: float, kind: ErrorKind
) -> MovementLine:
    """The movement that lost or gained most, or the one in which the line was left."""
    lines = [line for line in layout.movements if line.end_m > line.start_m]
    if kind in ("left out", "ridden again", "out of order") and high - low > LEAST_M / 2:
        return max(lines, key=lambda m: min(m.end_m, high) - max(m.start_m, low))
    inside = [m for m in lines if m.start_m - 1.0 <= left_m < m.end_m]
    return inside[-1] if inside else lines[-1]


def _text(
    layout: Layout,
    line: MovementLine,
    kind: ErrorKind,
    jumped_m: tuple[float, float],
    away_s: float,
) -> str:
    if kind == "wrong rein":
        turn = _turn_at(line, jumped_m)
        asked = f" ('{turn.text}' is asked)" if turn else ""
        return (
            f"Movement {line.number}: turned the wrong way{asked}; "
            f"back on the course {away_s:.0f} s later."
        )
    if kind == "off the course":
        return f"Movement {line.number}: off the course for {away_s:.0f} s."
    what = _what(layout, line, *jumped_m)
    return f"{what} {'were' if what.startswith('Movements') else 'was'} {_DONE[kind]}."


_DONE: Final = {
    "left out": "left out",
    "ridden again": "ridden again",
    "out of order": "not ridden in its place, but later",
}


def _turn_at(line: MovementLine, jumped_m: tuple[float, float]) -> Stretch | None:
    """The turn of a movement nearest to where the line was left."""
    turns = [s for s in line.stretches if s.kind == "turn"]
    return min(turns, key=lambda s: abs(s.start_m - jumped_m[1]), default=None)


def _what(layout: Layout, line: MovementLine, low: float, high: float) -> str:
    """What was jumped over, in words: a figure, whole movements, or the part between letters."""
    whole = [m.number for m in layout.movements if _share(m.start_m, m.end_m, low, high) > 0.8]
    if len(whole) > 1:
        return f"Movements {whole[0]} to {whole[-1]}"
    figures = [s for s in line.stretches if s.kind not in ("track", "line")]
    over = [s for s in figures if _share(s.start_m, s.end_m, low, high) > 0.6]
    if len(over) == 1:
        return f"Movement {line.number}: {over[0].text}"
    if whole:
        return f"Movement {line.number}"
    return f"Movement {line.number}: the part from {_near(layout, low)} to {_near(layout, high)}"


def _share(start_m: float, end_m: float, low: float, high: float) -> float:
    """Share of a piece of the line that lies between two places."""
    return (min(end_m, high) - max(start_m, low)) / max(end_m - start_m, 1.0)


def _near(layout: Layout, s_m: float) -> str:
    """The letter passed nearest to a place on the line."""
    return min(layout.passages, key=lambda passage: abs(passage.s_m - s_m)).letter
