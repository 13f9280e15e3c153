"""How the ridden line differs from the one asked for: displacements across the course.

All of them start and end smoothly, so that place, heading and curvature stay continuous.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.random import Generator
from scipy.interpolate import CubicSpline
from scipy.ndimage import gaussian_filter1d

from sample_rides.course import Slice
from sample_rides.faults import Fault, amount
from sample_rides.scenario import Scenario
from track.layout import Layout, MovementLine, Stretch
from track.path import Floats

GRID_M: Final = 0.1
WANDER_LENGTH_M: Final = 5.0
WANDER_SD_M: Final = 0.25
WANDER_LIMIT_M: Final = 0.55
SNAKE_LENGTH_M: Final = 9.0


def displacement(
    s_m: Floats,
    slices: Sequence[Slice],
    layout: Layout,
    scenario: Scenario,
    *,
    faults: Sequence[Fault],
    rng: Generator,
) -> Floats:
    """Metres to the left of the course at each of its points."""
    left_m = scenario.imperfection * _wander(s_m, rng)
    for piece in slices:
        for movement in layout.movements:
            for stretch in movement.stretches:
                if piece.holds(stretch.start_m) and piece.holds(stretch.end_m):
                    at_m = piece.course_m(stretch.start_m)
                    left_m += _stretch_error(s_m - at_m, stretch, scenario.imperfection, rng)
                    left_m += _stretch_fault(s_m - at_m, stretch, movement, layout, faults)
        for corner in layout.corners:
            if piece.holds(corner.start_m) and piece.holds(corner.end_m):
                left_m += scenario.imperfection * _corner_cut(
                    s_m - piece.course_m((corner.start_m + corner.end_m) / 2),
                    corner.rein == "left",
                    rng,
                )
    return np.asarray(left_m)


def smooth_noise(count: int, step: float, length: float, rng: Generator) -> Floats:
    """Gaussian noise of unit variance whose correlation is a bell of the given length.

    Drawn on a coarse grid of an eighth of the length and carried over by a cubic spline.
    """
    coarse = length / 8.0
    sigma = 4.0
    margin = int(4 * sigma) + 1
    points = int(np.ceil(count * step / coarse)) + 4
    white = rng.standard_normal(points + 2 * margin)
    smooth = gaussian_filter1d(white, sigma, mode="constant")[margin:-margin]
    gain = np.sqrt(2.0 * sigma * np.sqrt(np.pi))
    spline = CubicSpline(coarse * np.arange(points), gain * smooth)
    return np.asarray(spline(step * np.arange(count)))


def _wander(s_m: Floats, rng: Generator) -> Floats:
    short = smooth_noise(len(s_m), GRID_M, WANDER_LENGTH_M, rng)
    long = smooth_noise(len(s_m), GRID_M, 4 * WANDER_LENGTH_M, rng)
    wander_m = WANDER_SD_M * (0.7 * short + 0.7 * long)
    return np.asarray(WANDER_LIMIT_M * np.tanh(wander_m / WANDER_LIMIT_M))


def _taper(along_m: Floats, length_m: float, ramp_m: float = 2.0) -> Floats:
    """1 inside a stretch, falling smoothly to 0 at its two ends."""
    edge = np.minimum(along_m, length_m - along_m) / min(ramp_m, length_m / 2.0)
    return np.asarray(0.5 - 0.5 * np.cos(np.pi * np.clip(edge, 0.0, 1.0)))


def _released(past_m: Floats) -> Floats:
    """1 up to the end of a figure, then back to the line over 10 m."""
    return np.asarray(0.5 + 0.5 * np.cos(np.pi * np.clip(past_m / 10.0, 0.0, 1.0)))


def _turned(along_m: Floats, length_m: float, full_rad: float) -> Floats:
    return np.asarray(np.clip(along_m / length_m, 0.0, 1.0) * full_rad)


def _outward(stretch: Stretch) -> float:
    """Sign of 'away from the centre' on the left of travel."""
    return -1.0 if stretch.rein == "left" else 1.0


def _stretch_error(
    along_m: Floats, stretch: Stretch, imperfection: float, rng: Generator
) -> Floats:
    """Size and shape error of a figure, overshoot of a turn."""
    length_m = stretch.end_m - stretch.start_m
    draw = rng.standard_normal(4)
    if stretch.kind in {"circle", "half circle"}:
        full = 2.0 * np.pi if stretch.kind == "circle" else np.pi
        theta = _turned(along_m, length_m, full)
        scale = imperfection * (0.6 if (stretch.nominal_m or 20.0) < 14.0 else 1.0)
        size = 0.35 * draw[0] * (1.0 - np.cos(theta)) * _released(along_m - length_m)
        shape = 0.20 * draw[1] * np.cos(2.0 * theta + draw[2]) + 0.12 * draw[3] * np.cos(3 * theta)
        return np.asarray(
            _outward(stretch) * scale * (size + shape * _taper(along_m, length_m, 4.0))
        )
    if stretch.kind == "turn":
        arc_end_m = stretch.arc_m[1] if stretch.arc_m else stretch.end_m
        bump = np.exp(-(((along_m - (arc_end_m - stretch.start_m) - 2.5) / 2.5) ** 2))
        return np.asarray(imperfection * _outward(stretch) * 0.35 * (draw[0] + 0.5) * bump)
    return np.zeros(len(along_m))


def _corner_cut(from_middle_m: Floats, left: bool, rng: Generator) -> Floats:
    """Riders cut corners more often than they ride too deep: 0.35 ± 0.3 m inwards."""
    inward_m = float(np.clip(0.35 + 0.3 * rng.standard_normal(), -0.3, 1.0))
    sign = 1.0 if left else -1.0
    return np.asarray(sign * inward_m * np.exp(-((from_middle_m / 3.5) ** 2)))


def _stretch_fault(
    along_m: Floats,
    stretch: Stretch,
    movement: MovementLine,
    layout: Layout,
    faults: Sequence[Fault],
) -> Floats:
    length_m = stretch.end_m - stretch.start_m
    left_m = np.zeros(len(along_m))
    if stretch.kind == "circle":
        theta = _turned(along_m, length_m, 2.0 * np.pi)
        egg_m = amount(faults, "egg", movement.number)
        small_m = amount(faults, "small", movement.number)
        heading = np.interp(stretch.start_m + 0.5, layout.s_m, layout.heading_rad)
        outward_m = _egg(theta, egg_m, from_short_side=abs(np.cos(heading)) > 0.7)
        outward_m = outward_m - small_m / 2.0 * (1.0 - np.cos(theta))
        left_m += _outward(stretch) * outward_m
    elif stretch.kind == "half circle":
        theta = _turned(along_m, length_m, np.pi)
        small_m = amount(faults, "small", movement.number)
        left_m -= (
            _outward(stretch)
            * small_m
            / 2.0
            * (1.0 - np.cos(theta))
            * _released(along_m - length_m)
        )
    elif stretch.kind in {"line", "diagonal", "track"}:
        snake_m = amount(faults, "wobble", movement.number)
        waves = max(1, round(length_m / SNAKE_LENGTH_M))
        snake = np.sin(2.0 * np.pi * waves * along_m / length_m)
        left_m += snake_m * snake * _taper(along_m, length_m, 3.0)
    return left_m


def _egg(theta: Floats, egg_m: float, *, from_short_side: bool) -> Floats:
    """Outward displacement that makes a circle longer (along y) than wide by so much.

    It leaves the circle's start alone. A longer one keeps its mean size; a wider one only loses
    length, since it has the boards on either side.
    """
    quarter_m = abs(egg_m) / 4.0
    far_m, flank_m = {
        (True, True): (2.0, -1.0),
        (True, False): (-2.0, 1.0),
        (False, True): (-4.0, 0.0),
        (False, False): (0.0, -2.0),
    }[egg_m > 0.0, from_short_side]
    once, twice = far_m / 2.0, (flank_m - far_m / 2.0) / 2.0
    shape = once * (1.0 - np.cos(theta)) + twice * (1.0 - np.cos(2.0 * theta))
    return np.asarray(quarter_m * shape)
