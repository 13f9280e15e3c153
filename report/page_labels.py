"""Where a word goes on a drawing so that it covers nothing that matters."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from track.path import Floats

GLYPH_PX = 6.4
"""Mean width of a letter at 13 px in a condensed face: only for keeping words apart."""
LINE_PX = 15.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """A rectangle in pixels, by its middle and its size."""

    x: float
    y: float
    width: float
    height: float

    def overlap(self, other: Box) -> float:
        """Shared area, square pixels.

        Examples
        --------
        >>> Box(x=0, y=0, width=10, height=10).overlap(Box(x=5, y=0, width=10, height=10))
        50.0
        """
        across = (self.width + other.width) / 2 - abs(self.x - other.x)
        down = (self.height + other.height) / 2 - abs(self.y - other.y)
        across = min(across, self.width, other.width)
        down = min(down, self.height, other.height)
        return float(max(0.0, across) * max(0.0, down))


@dataclass(slots=True, kw_only=True)
class Room:
    """A drawing's free room: what is taken by words, and where lines run.

    Attributes
    ----------
    width, height : float, px
    taken : list of Box
        Words and marks already placed.
    inked : list of array, shape (n, 2), px
        Points of lines.
    """

    width: float
    height: float
    taken: list[Box] = field(default_factory=list)
    inked: list[Floats] = field(default_factory=list)

    def cost(self, box: Box) -> float:
        """How much a word in this place would cover."""
        covered = sum(box.overlap(other) for other in self.taken)
        on_line = sum(self._points_in(box, points) for points in self.inked)
        return covered * 4 + on_line * 6 + self._outside(box) * 20

    def _points_in(self, box: Box, points: Floats) -> int:
        across = np.abs(points[:, 0] - box.x) <= box.width / 2
        down = np.abs(points[:, 1] - box.y) <= box.height / 2
        return int((across & down).sum())

    def _outside(self, box: Box) -> float:
        left, top = box.x - box.width / 2, box.y - box.height / 2
        right, bottom = box.x + box.width / 2, box.y + box.height / 2
        return max(0.0, -left, -top, right - self.width, bottom - self.height)

    def place(self, words: str, spots: Sequence[tuple[float, float]]) -> Box:
        """Take the cheapest of some spots for a word and return its place.

        Parameters
        ----------
        words : str
        spots : sequence of (float, float), px
            Middles to choose from, the first preferred.
        """
        boxes = [self.box(words, x, y) for x, y in spots]
        costs = [self.cost(box) + 0.5 * i for i, box in enumerate(boxes)]
        best = boxes[int(np.argmin(costs))]
        self.taken.append(best)
        return best

    def box(self, words: str, x: float, y: float) -> Box:
        """The rectangle of a word about a middle."""
        return Box(x=x, y=y, width=GLYPH_PX * len(words) + 4, height=LINE_PX)


def spots_beside(
    x_px: Floats, y_px: Floats, words: str, *, gap_px: float = 9.0
) -> list[tuple[float, float]]:
    """Spots on either side of a line, its middle first, clear of it by a gap."""
    spots = []
    half_w, half_h = (GLYPH_PX * len(words) + 4) / 2, LINE_PX / 2
    for part in (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.1, 0.9):
        i = min(len(x_px) - 1, int(part * (len(x_px) - 1)))
        a, b = max(0, i - 2), min(len(x_px) - 1, i + 2)
        dx, dy = x_px[b] - x_px[a], y_px[b] - y_px[a]
        length = float(np.hypot(dx, dy)) or 1.0
        nx, ny = -dy / length, dx / length
        reach = gap_px + abs(nx) * half_w + abs(ny) * half_h * 0.6
        spots += [
            (float(x_px[i] + side * nx * reach), float(y_px[i] + side * ny * reach))
            for side in (1, -1)
        ]
    return spots
