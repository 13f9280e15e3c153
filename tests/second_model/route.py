"""Where the ride goes: laps of the track, circles at the middle of a side, diagonals.

The line is put together from straights and arcs, each with its length known; which comes next is
decided at fixed places (middle of every side, start of every long side) by the leg of the script
that is being ridden when the horse gets there.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.ndimage import gaussian_filter1d

from tests.second_model.slow import slow_noise
from tests.second_model.truth import Floats

STEP_M = 0.1
HALF_LENGTH_M = {"20x40": 20.0, "20x60": 30.0}


@dataclass(frozen=True, slots=True)
class Leg:
    """One line of a ride script.

    ``figure`` is "track", "diagonal", or "circle 20", "circle 15", "circle 10" (metres from
    boards to boards); a circle is ridden again at every second middle of a side until the leg is
    over. In a halt it is ignored.
    """

    gait: str
    seconds: float
    figure: str = "track"


@dataclass(frozen=True, slots=True, kw_only=True)
class Route:
    """The ridden line by distance, every :data:`STEP_M`, and the circles on it."""

    x_m: Floats
    y_m: Floats
    circles: tuple[tuple[str, float, float, float], ...]
    """rein, nominal diameter m, first and last metre."""


class _Pen:
    """Draws straights and arcs one after the other."""

    def __init__(self, x: float, y: float, heading: float) -> None:
        self.x, self.y, self.heading, self.s = x, y, heading, 0.0
        self.points: list[Floats] = []

    def _lay(self, length: float, curvature: float) -> None:
        n = max(round(length / STEP_M), 1)
        s = np.arange(1, n + 1) * (length / n)
        angle = self.heading + curvature * s
        if abs(curvature) < 1e-9:
            x, y = self.x + s * np.cos(angle), self.y + s * np.sin(angle)
        else:
            x = self.x + (np.sin(angle) - np.sin(self.heading)) / curvature
            y = self.y - (np.cos(angle) - np.cos(self.heading)) / curvature
        self.points.append(np.column_stack([self.s + s, x, y]))
        self.x, self.y, self.heading = float(x[-1]), float(y[-1]), float(angle[-1])
        self.s += length

    def straight_to(self, x: float, y: float) -> None:
        length = float(np.hypot(x - self.x, y - self.y))
        if length > 1e-6:
            self.heading = float(np.arctan2(y - self.y, x - self.x))
            self._lay(length, 0.0)

    def arc(self, angle: float, radius: float) -> None:
        self._lay(abs(angle) * radius, np.sign(angle) / radius)


def _side_ends(
    half_width: float, half_length: float, left: bool
) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    """Corner points of the four sides in riding order, starting with the side through A."""
    w, h = half_width, half_length
    ring = [(-w, -h), (w, -h), (w, h), (-w, h)]
    if not left:
        ring = [(w, -h), (-w, -h), (-w, h), (w, h)]
    return [(ring[i], ring[(i + 1) % 4]) for i in range(4)]


def build_route(
    rng: np.random.Generator,
    size: str,
    length_m: float,
    figure_at: Callable[[float], str],
    offset_m: float,
) -> Route:
    """Draw at least ``length_m`` of line; ``figure_at`` tells the figure wanted at a distance."""
    w, h = 10.0 - offset_m, HALF_LENGTH_M[size] - offset_m
    corner = float(rng.uniform(3.0, 5.0))
    left = bool(rng.random() < 0.5)
    pen = _Pen(0.0, -h, 0.0 if left else np.pi)
    circles: list[tuple[str, float, float, float]] = []
    side, may_circle = 0, True
    while pen.s < length_m:
        start, end = _side_ends(w, h, left)[side]
        turn = np.pi / 2 if left else -np.pi / 2
        along = np.subtract(end, start) / np.hypot(*np.subtract(end, start))
        wish = figure_at(pen.s)
        if wish.startswith("circle") and may_circle:
            nominal = float(wish.split()[1])
            radius = (nominal - 2 * offset_m if nominal > 19 else nominal - offset_m) / 2
            radius *= float(rng.uniform(0.92, 1.03))
            circles.append(("left" if left else "right", nominal, pen.s, 0.0))
            pen.arc(4 * turn, radius)
            circles[-1] = (*circles[-1][:3], pen.s)
        may_circle = not may_circle
        pen.straight_to(*(np.array(end) - corner * along))
        pen.arc(turn, corner)
        side = (side + 1) % 4
        start, end = _side_ends(w, h, left)[side]
        if side % 2 == 1 and figure_at(pen.s) == "diagonal":
            left, side = _cross(pen, w, h, corner, left)
            start, end = _side_ends(w, h, left)[side]
        pen.straight_to(*(np.add(start, end) / 2))
    return _smoothed(rng, pen, circles)


def _cross(pen: _Pen, w: float, h: float, corner: float, left: bool) -> tuple[bool, int]:
    """Change the rein across the diagonal and ride on to the middle of the next short side."""
    side_x, way = np.sign(pen.x), np.sign(np.sin(pen.heading))
    pen.straight_to(pen.x, way * -(h - 6.0))
    pen.straight_to(-side_x * w, way * (h - 6.0))
    pen.heading = way * np.pi / 2
    pen.straight_to(-side_x * w, way * (h - corner))
    pen.arc(-np.pi / 2 if left else np.pi / 2, corner)
    return not left, 2 if way > 0 else 0


def _smoothed(
    rng: np.random.Generator, pen: _Pen, circles: list[tuple[str, float, float, float]]
) -> Route:
    """A body cannot turn on the spot (0.8 m), and no rider keeps to the line within 0.2 m."""
    laid = np.concatenate(pen.points)
    s = np.arange(0.0, pen.s, STEP_M)
    x, y = np.interp(s, laid[:, 0], laid[:, 1]), np.interp(s, laid[:, 0], laid[:, 2])
    x, y = gaussian_filter1d(x, 0.8 / STEP_M), gaussian_filter1d(y, 0.8 / STEP_M)
    return Route(x_m=x + _wander(rng, len(s)), y_m=y + _wander(rng, len(s)), circles=tuple(circles))


def _wander(rng: np.random.Generator, count: int) -> Floats:
    s: Floats = np.linspace(0.0, (count - 1) * STEP_M, count)
    return 0.06 * slow_noise(rng, s, 8.0) + 0.15 * slow_noise(rng, s, 25.0)
