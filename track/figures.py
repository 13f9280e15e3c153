"""Circles and half circles of any size found in a path, with a sheet or without.

A circle is told by steady curvature, not by how far it turns: two corners and the short side
between them turn by 180 degrees as well, and a lap by 360. Stretches in which every half turn
has steady curvature are joined; each revolution of such a stretch is one circle, beginning where
the bend begins: where the ridden line leaves the track at the letter.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from track.figure_search import FULL_RAD, Kind, Run, pieces_of, runs_of
from track.motion import Motion
from track.path import Estimate, Path
from track.rein import STEP_M, Bends, bends_of
from track.sheet import Rein

FLAT_SHARE: Final = 0.65
"""The longest straight piece in a circle, in radii."""
_ONSET_SD_M: Final = 0.8
_TURN_M: Final = 6.5
_EDGE_M: Final = 2.5
_CENTRE_M: Final = 3.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """One circle or half circle as it was ridden.

    Attributes
    ----------
    kind : {"circle", "half circle"}
    rein : {"left", "right"}
    start_s, end_s : float, s
        From the beginning of the bend to where the heading has turned by 360 (180) degrees.
    edge_sd_s : float, s
        Standard uncertainty of ``start_s`` and ``end_s``.
    radius_m : Estimate, m
        Distance ridden over angle turned: a first size, without the place of the line.
    x_m, y_m : float, m
        Middle of the ridden line.
    """

    kind: Kind
    rein: Rein
    start_s: float
    end_s: float
    edge_sd_s: float
    radius_m: Estimate
    x_m: float
    y_m: float


def find_figures(
    path: Path, motion: Motion | None = None, *, half_length_m: float | None = None
) -> tuple[Figure, ...]:
    """Find every full and half circle of a path.

    Parameters
    ----------
    path : Path
    motion : Motion, optional
        On the positions' clock; sharpens where bends begin.
    half_length_m : float, optional, m
        Half the length of the arena, for a path in its frame: turns onto the centre line at a
        short side are then told from half circles.

    Returns
    -------
    tuple of Figure
        In the order ridden.
    """
    bends = bends_of(path, motion)
    if bends is None:
        return ()
    reins: tuple[tuple[Rein, int], ...] = (("left", 1), ("right", -1))
    found = [
        figure
        for rein, sign in reins
        for first, last in runs_of(sign * bends.curvature_1m)
        for figure in _in_run(path, bends, rein, first, last)
    ]
    kept = [figure for figure in found if not _turn_at_short_side(path, figure, half_length_m)]
    return tuple(_without_flats(path, sorted(kept, key=lambda figure: figure.start_s)))


def _without_flats(path: Path, figures: list[Figure]) -> list[Figure]:
    """Two half circles with a few straight metres between, back where they began, are a circle.

    So is one ridden along the boards for a length, or pulled long.
    """
    joined: list[Figure] = []
    for figure in figures:
        if joined and _one_circle(path, joined[-1], figure):
            first = joined.pop()
            joined.append(_both(path, first, figure))
        else:
            joined.append(figure)
    return joined


def _one_circle(path: Path, first: Figure, second: Figure) -> bool:
    if first.kind == "circle" or second.kind == "circle" or first.rein != second.rein:
        return False
    x_m, y_m = path.at(np.array([first.start_s, first.end_s, second.start_s, second.end_s]))
    radius = (first.radius_m.value + second.radius_m.value) / 2
    gap = np.hypot(x_m[2] - x_m[1], y_m[2] - y_m[1])
    left_open = np.hypot(x_m[3] - x_m[0], y_m[3] - y_m[0])
    soon = (second.start_s - first.end_s) < 0.5 * (first.end_s - first.start_s)
    return bool(soon and max(gap, left_open) < FLAT_SHARE * radius)


def _both(path: Path, first: Figure, second: Figure) -> Figure:
    epochs = path.between(first.start_s, second.end_s)
    x_m, y_m = path.at(np.array([first.end_s, second.start_s]))
    flat = float(np.hypot(x_m[1] - x_m[0], y_m[1] - y_m[0]))
    size = (first.radius_m.value + second.radius_m.value) / 2 + flat / FULL_RAD
    return replace(
        first, kind="circle", end_s=second.end_s,
        radius_m=Estimate(value=size, sd=max(first.radius_m.sd, second.radius_m.sd)),
        x_m=float(np.mean(path.x_m[epochs])), y_m=float(np.mean(path.y_m[epochs])),
    )  # fmt: skip


def _turn_at_short_side(path: Path, figure: Figure, half_length_m: float | None) -> bool:
    """Whether a half circle is really a corner and the turn onto, or off, the centre line.

    Corner and turn, each of 3 to 5 m radius in the 10 m between long side and centre line, have
    the shape of a 10 m half circle; what tells them apart is that they touch the short side.
    """
    if path.frame != "arena" or half_length_m is None:
        return False
    if figure.kind == "circle" or figure.radius_m.value > _TURN_M:
        return False
    y_m = np.abs(path.y_m[path.between(figure.start_s, figure.end_s)])
    x_m = np.abs(path.at(np.array([figure.start_s, figure.end_s]))[0])
    return bool(y_m.max() > half_length_m - _EDGE_M and x_m.min() < _CENTRE_M)


def _in_run(path: Path, bends: Bends, rein: Rein, first: int, last: int) -> list[Figure]:
    sign = 1.0 if rein == "left" else -1.0
    curvature = np.maximum(sign * bends.curvature_1m[first:last], 1e-4)
    heading = np.concatenate([[0.0], np.cumsum(curvature)]) * STEP_M
    x_m, y_m = path.at(bends.t_s[np.arange(first, last + 1).clip(0, len(bends.t_s) - 1)])
    run = Run(curvature=curvature, heading=heading, place=x_m + 1j * y_m)
    figures = [
        _figure(path, bends, kind, rein, (first + i, first + j)) for kind, i, j in pieces_of(run)
    ]
    return [figure for figure in figures if figure is not None]


def _figure(
    path: Path, bends: Bends, kind: Kind, rein: Rein, span: tuple[int, int]
) -> Figure | None:
    start, end = span
    end = min(end, len(bends.t_s) - 1)
    start_s, end_s = float(bends.t_s[start]), float(bends.t_s[end])
    epochs = path.between(start_s, end_s)
    if len(epochs) < 4:
        return None
    speed = max(float(np.mean(path.speed_ms[epochs])), 0.5)
    turned = abs(float(bends.curvature_1m[start:end].sum())) * STEP_M
    radius = float(bends.s_m[end] - bends.s_m[start]) / turned
    # mean speed limits the size: neighbouring epochs share their error, so it does not average
    share = float(np.mean(path.speed_sd_ms[epochs])) / speed
    return Figure(
        kind=kind, rein=rein, start_s=start_s, end_s=end_s,
        edge_sd_s=_ONSET_SD_M / speed, radius_m=Estimate(value=radius, sd=radius * share),
        x_m=float(np.mean(path.x_m[epochs])), y_m=float(np.mean(path.y_m[epochs])),
    )  # fmt: skip
