"""The line as it was ridden: the course with a rider's ordinary imperfections.

The imperfections are displacements across the course. All of them start and end smoothly, so
that place, heading and curvature stay continuous.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.random import Generator
from scipy.interpolate import CubicSpline
from scipy.ndimage import gaussian_filter1d

from sample_rides.course import Course, Slice
from sample_rides.faults import Fault, amount
from sample_rides.scenario import Scenario
from track.layout import Layout, MovementLine, Stretch
from track.path import Floats

GRID_M: Final = 0.1
ROUNDING_M: Final = 0.7
"""A horse's body cannot change its curvature at once: joints are rounded over this length."""
WANDER_LENGTH_M: Final = 5.0
WANDER_SD_M: Final = 0.25
WANDER_LIMIT_M: Final = 0.55
SNAKE_LENGTH_M: Final = 9.0


@dataclass(frozen=True, slots=True, kw_only=True)
class RiddenLine:
    """The line the rider's body took.

    Attributes
    ----------
    s_m : array, shape (n,), m
        Along the ridden line, evenly spaced by 0.1 m.
    x_m, y_m : array, shape (n,), m
    heading_rad : array, shape (n,), rad
        Unwrapped.
    curvature_1m : array, shape (n,), 1/m
        Left positive.
    course_m : array, shape (n,), m
        Course distance abreast of each point.
    slices : tuple of Slice
    """

    s_m: Floats
    x_m: Floats
    y_m: Floats
    heading_rad: Floats
    curvature_1m: Floats
    course_m: Floats
    slices: tuple[Slice, ...]

    def along(self, course_m: float) -> float:
        """Ridden distance abreast of a place on the course."""
        return float(np.interp(course_m, self.course_m, self.s_m))

    def nearest(self, place_m: tuple[float, float], about_m: float, within_m: float) -> float:
        """Ridden distance of the nearest approach to a place, near ``about_m``."""
        low, high = np.searchsorted(self.s_m, [about_m - within_m, about_m + within_m])
        fine_m = np.arange(self.s_m[low], self.s_m[min(high, len(self.s_m) - 1)], 0.01)
        x_m = np.interp(fine_m, self.s_m, self.x_m)
        y_m = np.interp(fine_m, self.s_m, self.y_m)
        return float(fine_m[np.argmin(np.hypot(x_m - place_m[0], y_m - place_m[1]))])


def ride_line(
    course: Course,
    layout: Layout,
    scenario: Scenario,
    faults: Sequence[Fault],
    rng: Generator,
) -> RiddenLine:
    """Ride the course with imperfections and planted faults of line."""
    s_m = np.arange(0.0, course.s_m[-1], GRID_M)
    x_m = _rounded(np.interp(s_m, course.s_m, course.x_m))
    y_m = _rounded(np.interp(s_m, course.s_m, course.y_m))
    heading_rad = np.unwrap(np.arctan2(np.gradient(y_m), np.gradient(x_m)))
    left_m = scenario.imperfection * _wander(s_m, rng)
    for piece in course.slices:
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
    left_m = _rounded(left_m)
    ridden_x = x_m - left_m * np.sin(heading_rad)
    ridden_y = y_m + left_m * np.cos(heading_rad)
    return _evenly(ridden_x, ridden_y, s_m, course.slices)


def _rounded(values: Floats) -> Floats:
    """Round the joints without drawing arcs inwards (the smoother applied to its own remainder)."""
    sigma = ROUNDING_M / GRID_M
    padded = np.pad(values, int(6 * sigma), mode="reflect", reflect_type="odd")
    smooth = gaussian_filter1d(padded, sigma)
    twice = smooth + gaussian_filter1d(padded - smooth, sigma)
    return np.asarray(twice[int(6 * sigma) : -int(6 * sigma)])


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
    inward_m = 0.35 + 0.3 * rng.standard_normal()
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
        # An egg leaves the circle's start where it is and moves the two sides abreast of it.
        heading = np.interp(stretch.start_m + 0.5, layout.s_m, layout.heading_rad)
        sides = -1.0 if abs(np.cos(heading)) > 0.7 else 1.0
        outward_m = sides * egg_m / 4.0 * (1.0 - np.cos(2.0 * theta))
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


def _evenly(x_m: Floats, y_m: Floats, course_m: Floats, slices: tuple[Slice, ...]) -> RiddenLine:
    """Resample by ridden distance, with heading and curvature from the spline."""
    ridden_m = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(x_m), np.diff(y_m)))])
    s_m = np.arange(0.0, ridden_m[-1], GRID_M)
    x_of, y_of = CubicSpline(ridden_m, x_m), CubicSpline(ridden_m, y_m)
    dx, dy = x_of(s_m, 1), y_of(s_m, 1)
    return RiddenLine(
        s_m=s_m,
        x_m=x_of(s_m),
        y_m=y_of(s_m),
        heading_rad=np.unwrap(np.arctan2(dy, dx)),
        curvature_1m=(dx * y_of(s_m, 2) - dy * x_of(s_m, 2)) / np.hypot(dx, dy) ** 3,
        course_m=np.interp(s_m, ridden_m, course_m),
        slices=slices,
    )
