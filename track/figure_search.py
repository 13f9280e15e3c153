"""Where in a run of bends the circles and half circles lie, by steady curvature."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from scipy.ndimage import label

from track.attitude import Complexes
from track.motion_beat import closed
from track.path import Floats
from track.rein import STEP_M

Kind = Literal["circle", "half circle"]
Piece = tuple[Kind, int, int]

FLATTEST_1M: Final = 1 / 40.0
JOIN_M: Final = 2.0
_FLAT_M: Final = 3.5
"""A flat place in a circle no longer than this does not end it."""
UNSTEADY: Final = 0.2
"""Mean square of (curvature x radius - 1) over half a turn up to which it is one figure. An egg
of 24 x 18 m has 0.09, a short side ridden with corners of 5 m 0.6."""
SMALLEST_M: Final = 2.2
LARGEST_M: Final = 13.0
"""Radii of the rider's body: circles of 6 m at their smallest, eggs at their largest."""
ONSET: Final = 0.5
"""A figure begins where the curvature has come up to this share of the figure's own."""
FULL_RAD: Final = 2 * np.pi
_LOST_RAD: Final = np.radians(40.0)
"""What a full circle may lack, its first and last metres being blurred."""
_HALF_RAD: Final = (np.radians(135.0), np.radians(230.0))
_BLUR_RAD: Final = {
    "circle": (-np.radians(35.0), np.radians(5.0)),
    "half circle": (-np.radians(12.0), np.radians(5.0)),
}
"""By how much the turn found may differ from 360 or 180 degrees."""
OPEN: Final = 0.4
OPEN_M: Final = 2.5
"""How far from its beginning a circle may end: in radii, but never less than what positions
drift in ten seconds."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """One stretch that keeps bending one way; curvature is taken positive.

    Heading turned so far and place (a complex number) stand at the edges of the steps.
    """

    curvature: Floats
    heading: Floats
    place: Complexes


def runs_of(curvature: Floats) -> list[tuple[int, int]]:
    """Stretches that keep bending one way."""
    marks, count = label(closed(curvature > FLATTEST_1M, JOIN_M / STEP_M))
    edges = [np.flatnonzero(marks == i + 1)[[0, -1]] for i in range(count)]
    return [(int(first), int(last) + 1) for first, last in edges]


def pieces_of(run: Run) -> list[Piece]:
    """Circles and half circles of one run, as steps from its beginning."""
    if run.heading[-1] < _HALF_RAD[0]:
        return []
    return [piece for span in _steady(run.curvature) for piece in _revolutions(run, span)]


def _steady(curvature: Floats) -> list[tuple[int, int]]:
    """Stretches in which every half turn has steady curvature, out to where the bend begins."""
    heading = np.concatenate([[0.0], np.cumsum(curvature)]) * STEP_M
    square = np.concatenate([[0.0], np.cumsum(curvature**2)]) * STEP_M
    starts = np.arange(len(curvature))
    ends = np.searchsorted(heading, heading[:-1] + np.pi)
    whole = ends < len(heading)
    starts, ends = starts[whole], ends[whole]
    if len(starts) == 0:
        return _nearly_half(curvature)
    length = (ends - starts) * STEP_M
    radius = length / np.pi
    # mean of (κR - 1)², with ∫κ ds = π = length / R
    unsteady = (square[ends] - square[starts]) * radius**2 / length - 1
    good = (unsteady < UNSTEADY) & (radius > SMALLEST_M) & (radius < LARGEST_M)
    marks, count = label(good)
    spans = []
    for i in range(count):
        inside = np.flatnonzero(marks == i + 1)
        spans.append(_to_onset(curvature, int(starts[inside[0]]), int(ends[inside[-1]])))
    return _merged(spans) if spans else _nearly_half(curvature)


def _nearly_half(curvature: Floats) -> list[tuple[int, int]]:
    """A run that turns by a little less than half a circle, or only just."""
    turned, length = float(curvature.sum()) * STEP_M, len(curvature) * STEP_M
    radius = length / turned
    a, b = _trimmed(curvature, 0, len(curvature), 1 / radius)
    inner = curvature[a:b]
    turned, length = float(inner.sum()) * STEP_M, len(inner) * STEP_M
    if not _HALF_RAD[0] < turned < _HALF_RAD[1]:
        return []
    unsteady = float(np.mean((inner * length / turned - 1) ** 2))
    radius = length / turned
    return [(a, b)] if unsteady < UNSTEADY and SMALLEST_M < radius < LARGEST_M else []


def _to_onset(curvature: Floats, a: int, b: int) -> tuple[int, int]:
    """Move both ends to where the curvature passes half of the figure's own."""
    middle = float(np.median(curvature[a:b]))
    while a > 0 and ONSET * middle < curvature[a - 1] < middle / ONSET:
        a -= 1
    while b < len(curvature) and ONSET * middle < curvature[b] < middle / ONSET:
        b += 1
    return _trimmed(curvature, a, b, middle)


def _trimmed(curvature: Floats, a: int, b: int, middle: float) -> tuple[int, int]:
    strong = np.flatnonzero(curvature[a:b] > ONSET * middle)
    return (a + int(strong[0]), a + int(strong[-1]) + 1) if len(strong) else (a, b)


def _merged(spans: list[tuple[int, int]]) -> list[tuple[int, int]]:
    merged = [spans[0]]
    for a, b in spans[1:]:
        if a < merged[-1][1] + _FLAT_M / STEP_M:
            merged[-1] = (merged[-1][0], max(b, merged[-1][1]))
        else:
            merged.append((a, b))
    return merged


def _revolutions(run: Run, span: tuple[int, int]) -> list[Piece]:
    """Cut a steady stretch into full circles, and half circles where they are what is left."""
    a, b = span
    count = int((run.heading[b] - run.heading[a] + _LOST_RAD) // FULL_RAD)
    if count == 0:
        return _half(run, a, b)
    start, end = _best_part(run, (a, b), count * FULL_RAD, "circle")
    edges = np.linspace(run.heading[start], run.heading[end], 2 * count + 1)
    cuts = np.searchsorted(run.heading, edges).clip(start, end).tolist()
    pieces = _half(run, a, start)
    for i, middle, j in zip(cuts[:-2:2], cuts[1::2], cuts[2::2], strict=True):
        radius = (j - i) * STEP_M / FULL_RAD
        if abs(run.place[j] - run.place[i]) < max(OPEN * radius, OPEN_M):
            pieces.append(("circle", i, j))
        else:
            pieces += [("half circle", i, middle), ("half circle", middle, j)]
    return pieces + _half(run, end, b)


def _half(run: Run, a: int, b: int) -> list[Piece]:
    if run.heading[b] - run.heading[a] < _HALF_RAD[0]:
        return []
    start, end = _best_part(run, (a, b), np.pi, "half circle")
    radius = (end - start) * STEP_M / (run.heading[end] - run.heading[start])
    unsteady = float(np.mean((run.curvature[start:end] * radius - 1) ** 2))
    if unsteady > UNSTEADY or not SMALLEST_M < radius < LARGEST_M:
        return []
    return [("half circle", start, end)]


def _best_part(run: Run, span: tuple[int, int], turn_rad: float, kind: Kind) -> tuple[int, int]:
    """Part that turns by about so much, steadiest, and for circles ending where it began.

    A corner ridden straight into a circle, or out of it, so stays outside; and what the blur of
    the first and last metres takes from the turn does not push the end along the next straight.
    """
    a, b = span
    square = np.concatenate([[0.0], np.cumsum(run.curvature**2)]) * STEP_M
    best, score = (a, b), np.inf
    for i in range(a, b, 2):
        low, high = np.searchsorted(
            run.heading, run.heading[i] + turn_rad + np.array(_BLUR_RAD[kind])
        )
        j = np.arange(low, min(int(high), b) + 1)
        if len(j) == 0:
            break
        turned, length = run.heading[j] - run.heading[i], (j - i) * STEP_M
        scores = (square[j] - square[i]) * length / turned**2 - 1
        if kind == "circle":
            scores += np.abs(run.place[j] - run.place[i]) ** 2 * (turn_rad / length) ** 2
        if scores.min() < score:
            best, score = (i, int(j[np.argmin(scores)])), float(scores.min())
    return best
