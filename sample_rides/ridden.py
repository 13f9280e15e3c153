"""The line as it was ridden: the course with a rider's ordinary imperfections."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.random import Generator
from scipy.interpolate import CubicSpline
from scipy.ndimage import gaussian_filter1d

from sample_rides.course import Course, Slice
from sample_rides.faults import Fault
from sample_rides.imperfections import GRID_M, displacement
from sample_rides.scenario import Scenario
from track.arena import HALF_LENGTH_M, HALF_WIDTH_M
from track.layout import Layout
from track.path import Floats

ROUNDING_M: Final = 0.7
"""A horse's body cannot change its curvature at once: joints are rounded over this length."""
ACROSS_M: Final = 2.0
"""Displacements point across the course's direction over this length: a corner ridden further in
is ridden wider, not tighter."""
FENCE_M: Final = 0.5
FENCE_ROOM_M: Final = 0.3
"""The rider's body comes no nearer to the boards than the one less the other."""
GATE_M: Final = 3.0
"""Half the width of the opening at A."""


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

    def until(self, s_m: float) -> RiddenLine:
        """The line up to a place, that one included."""
        count = round(s_m / GRID_M) + 1
        return RiddenLine(
            s_m=self.s_m[:count],
            x_m=self.x_m[:count],
            y_m=self.y_m[:count],
            heading_rad=self.heading_rad[:count],
            curvature_1m=self.curvature_1m[:count],
            course_m=self.course_m[:count],
            slices=self.slices,
        )

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
    left_m = displacement(s_m, course.slices, layout, scenario, faults=faults, rng=rng)
    across_rad = gaussian_filter1d(heading_rad, ACROSS_M / GRID_M, mode="nearest")
    ridden_x, ridden_y = x_m - left_m * np.sin(across_rad), y_m + left_m * np.cos(across_rad)
    half_length_m = HALF_LENGTH_M[layout.sheet.arena]
    inside = (np.abs(x_m) < HALF_WIDTH_M) & (np.abs(y_m) < half_length_m)
    at_sides = inside & ((np.abs(x_m) > GATE_M) | (y_m > 0.0))
    ridden_x = np.where(inside, _fenced(ridden_x, HALF_WIDTH_M), ridden_x)
    ridden_y = np.where(at_sides, _fenced(ridden_y, half_length_m), ridden_y)
    return _evenly(_rounded(ridden_x), _rounded(ridden_y), s_m, course.slices)


def _fenced(values_m: Floats, boards_m: float) -> Floats:
    """Keep the rider's body off the boards: what lies beyond 0.5 m is squeezed."""
    over = np.maximum(np.abs(values_m) - (boards_m - FENCE_M), 0.0)
    squeezed = FENCE_ROOM_M * np.tanh(over / FENCE_ROOM_M)
    return np.asarray(np.sign(values_m) * (np.abs(values_m) - over + squeezed))


def _rounded(values: Floats) -> Floats:
    """Round the joints without drawing arcs inwards (the smoother applied to its own remainder)."""
    sigma = ROUNDING_M / GRID_M
    padded = np.pad(values, int(6 * sigma), mode="reflect", reflect_type="odd")
    smooth = gaussian_filter1d(padded, sigma)
    twice = smooth + gaussian_filter1d(padded - smooth, sigma)
    return np.asarray(twice[int(6 * sigma) : -int(6 * sigma)])


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
