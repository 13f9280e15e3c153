"""A rectangle of known size laid through the fixes of a walk round the boards."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.optimize import least_squares

from track.arena import HALF_LENGTH_M, HALF_WIDTH_M, Size
from track.path import Floats

WALKER_OFFSET_M: Final = 0.5
ROUND_M: Final = 2.5
"""A walk round the boards keeps so close to a rectangle, root mean square."""
SLOW_ERROR_S: Final = 60.0
SLOW_ERROR_M: Final = 1.5
"""Slow error of the fixes per axis, and how long it lasts [measured]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rectangle:
    """A rectangle through fixes: pose as in :mod:`track.placement`, and how well it fits."""

    size: Size
    rotation_rad: float
    centre_m: tuple[float, float]
    mean_square_m2: float


def rectangles(east_m: Floats, north_m: Floats, sizes: Sequence[Size]) -> list[Rectangle]:
    """Best rectangle of each size, the better fitting first.

    Parameters
    ----------
    east_m, north_m : array, shape (n,), m
    sizes : sequence of str
    """
    found = [_best(east_m, north_m, size) for size in sizes]
    return sorted(found, key=lambda one: one.mean_square_m2)


def off_sides(pose: Floats, east_m: Floats, north_m: Floats, size: Size) -> Floats:
    """Distance of each fix from the nearest side of the walker's rectangle, m.

    Parameters
    ----------
    pose : array, shape (3,)
        Rotation that takes east and north into the arena, and the centre on the plane.
    """
    cos, sin = np.cos(pose[0]), np.sin(pose[0])
    east, north = east_m - pose[1], north_m - pose[2]
    x = np.abs(cos * east - sin * north) - (HALF_WIDTH_M - WALKER_OFFSET_M)
    y = np.abs(sin * east + cos * north) - (HALF_LENGTH_M[size] - WALKER_OFFSET_M)
    outside = np.hypot(np.maximum(x, 0.0), np.maximum(y, 0.0))
    off: Floats = np.where((x > 0) | (y > 0), outside, np.maximum(x, y))
    return off


def _best(east_m: Floats, north_m: Floats, size: Size) -> Rectangle:
    turns = np.radians(np.arange(0.0, 180.0, 3.0))
    starts = [_boxed(turn, east_m, north_m) for turn in turns]
    costs = [float((off_sides(start, east_m, north_m, size) ** 2).mean()) for start in starts]
    fits = [
        least_squares(
            off_sides, starts[i], args=(east_m, north_m, size), loss="soft_l1", f_scale=2.0
        )
        for i in np.argsort(costs)[:4]
    ]
    fit = min(fits, key=lambda one: float(one.cost))
    mean_square = float((off_sides(fit.x, east_m, north_m, size) ** 2).mean())
    return Rectangle(
        size=size,
        rotation_rad=float(fit.x[0]),
        centre_m=(float(fit.x[1]), float(fit.x[2])),
        mean_square_m2=mean_square,
    )


def _boxed(turn: float, east_m: Floats, north_m: Floats) -> Floats:
    """A starting pose: the middle of the fixes' extent in one direction."""
    cos, sin = np.cos(turn), np.sin(turn)
    x, y = cos * east_m - sin * north_m, sin * east_m + cos * north_m
    mid_x, mid_y = (np.percentile(v, 2) + np.percentile(v, 98) for v in (x, y))
    return np.array([turn, (cos * mid_x + sin * mid_y) / 2, (-sin * mid_x + cos * mid_y) / 2])
