"""Where the ideal line passes letters, and where it crosses the centre line."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from track.arena import LETTERS, Size
from track.layout import Corner, Passage
from track.lines import Piece, sample
from track.path import Floats

STEP_M: Final = 0.1
_ON_LINE_M: Final = 0.6
_SPARE_M: Final = 0.2
_CUT_M: Final = 2.5
"""A right-angle turn of 5 m radius cuts its corner point by 2.1 m."""


def grid(length_m: float) -> Floats:
    """Distances along the line, every 0.1 m, and the end."""
    s = np.arange(0.0, length_m, STEP_M)
    return np.append(s, length_m) if length_m - s[-1] > 1e-9 else s


def find_passages(
    pieces: Sequence[Piece],
    size: Size,
    offset_m: float,
    vertices: Sequence[tuple[str, float, float]],
) -> tuple[Passage, ...]:
    """Nearest approaches of a line to the letters, in riding order.

    Parameters
    ----------
    pieces : sequence of Piece
    size : {"20x40", "20x60"}
    offset_m : float, m
        Of the line from the boards.
    vertices : sequence of (letter, start_m, end_m)
        Arcs that round off a corner at a letter: passed there although further away.
    """
    s = grid(sum(piece.length_m for piece in pieces))
    x, y, _, _ = sample(pieces, s)
    found: list[Passage] = []
    for letter, (px, py) in LETTERS[size].items():
        near = _ON_LINE_M if px == 0.0 and letter not in "ACX" else offset_m + _SPARE_M
        away = np.hypot(x - px, y - py)
        limit = np.full(s.shape, near)
        for name, start, end in vertices:
            if name == letter:
                limit[(s >= start - STEP_M) & (s <= end + STEP_M)] = _CUT_M + offset_m
        found += [Passage(letter=letter, s_m=float(s[i])) for i in _approaches(away, limit)]
    return tuple(sorted(found, key=lambda passage: passage.s_m))


def _approaches(away: Floats, limit: Floats) -> list[int]:
    """Indices of the nearest point of each run within the limit, split at every minimum."""
    padded = np.concatenate([[np.inf], away, [np.inf]])
    falls = padded[1:-1] < padded[:-2] - 1e-12
    rises = padded[1:-1] <= padded[2:] + 1e-12
    return np.flatnonzero(falls & rises & (away <= limit)).tolist()


def crossings(x_m: Floats, s_m: Floats, heading_rad: Floats) -> list[float]:
    """Where the line crosses the centre line at a real angle (more than 20°)."""
    across = np.abs(np.cos(heading_rad[:-1])) > np.sin(np.radians(20.0))
    sign = np.where(x_m >= 0, 1, -1)
    where = np.flatnonzero((sign[:-1] != sign[1:]) & across)
    share = x_m[where] / (x_m[where] - x_m[where + 1])
    result: list[float] = (s_m[where] + share * (s_m[where + 1] - s_m[where])).tolist()
    return result


def corner_middles(corners: Sequence[Corner]) -> list[float]:
    """Middle of every corner's arc, metres along the line."""
    return [(corner.start_m + corner.end_m) / 2 for corner in corners]
