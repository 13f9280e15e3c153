"""A walked rectangle's pose by generalised least squares: the receiver's slow error is no scatter.

Fixes of one lap are off by an error that changes over a minute or so: neighbours say the same
thing. Each fix on a side is compared with the line walked along it, and the differences are
weighed by their full covariance (Aitken's estimator). Corners are left out: walkers round them and
receivers smooth them.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product
from typing import Final

import numpy as np
from scipy.linalg import cho_factor, cho_solve

from track.arena import HALF_LENGTH_M, HALF_WIDTH_M, Size
from track.path import Floats, Ints

WALKER_OFFSET_M: Final = 0.5
WALKER_OFFSET_SD_M: Final = 0.2
CORNER_M: Final = 2.0
"""So near to a corner a fix says nothing of a side."""
NEAR_M: Final = 5.0
MOST_FIXES: Final = 400
STRAY_M: Final = 0.3
STRAY_S: Final = 4.0
"""How far a walker strays along the boards, and for how long [judgement]."""
JITTER_M: Final = 0.1
"""Fix-to-fix jitter [measured]."""
WANDER_M: Final = (0.4, 0.6, 0.8, 1.2, 2.0)
WANDER_S: Final = (30.0, 60.0, 120.0, 240.0)
USUAL_WANDER_M: Final = 0.8
USUAL_WANDER_S: Final = 60.0
"""Wander of a receiver and how long it lasts [measured 0.6-0.8 m]."""
LEVELS_SPREAD: Final = 0.15
"""Of the logarithms of both about what is usual: one lap teaches them badly [judgement]."""
ROUNDS: Final = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class Walk:
    """Fixes of a walk round the boards, thinned, shape (n,) each, and the size tried."""

    t_s: Floats
    east_m: Floats
    north_m: Floats
    size: Size

    @property
    def half_m(self) -> Floats:
        """Half the width and half the length."""
        return np.array([HALF_WIDTH_M, HALF_LENGTH_M[self.size]])


def thinned(t_s: Floats, east_m: Floats, north_m: Floats, size: Size) -> Walk:
    """A walk with no more fixes than its covariance is worth."""
    every = slice(None, None, max(1, -(-len(t_s) // MOST_FIXES)))
    return Walk(t_s=t_s[every], east_m=east_m[every], north_m=north_m[every], size=size)


@dataclass(frozen=True, slots=True, kw_only=True)
class OnSides:
    """Fixes that lie on a side, shape (n,) each.

    Attributes
    ----------
    index : array of int
        Of the fix.
    axis : array of int
        0 across the long sides, 1 across the short ones.
    sign : array
        Which of the two sides.
    """

    index: Ints
    axis: Ints
    sign: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Fitted:
    """A pose with its covariance: rotation, centre east and north, walker's offset."""

    pose: Floats
    covariance: Floats
    wander_m: float


def fitted(walk: Walk, pose: Floats) -> Fitted:
    """Refine a rectangle's pose by the fixes on its sides.

    Parameters
    ----------
    walk : Walk
    pose : array, shape (3,)
        Rotation that takes east and north into the arena, rad, and the centre on the plane, m.
    """
    at = np.append(pose, WALKER_OFFSET_M)
    levels = _levels(walk, at)
    covariance = np.eye(4)
    for _ in range(ROUNDS):
        step, covariance, _ = _step(walk, at, on_sides(walk, at), levels)
        at = at + step
    return Fitted(pose=at, covariance=covariance, wander_m=levels[0])


def on_sides(walk: Walk, pose: Floats) -> OnSides:
    """Which fixes lie on which side, away from the corners."""
    place, half = placed(walk, pose), walk.half_m[:, None]
    off = np.abs(np.abs(place) - half + pose[3])
    clear = np.abs(place[::-1]) < half[::-1] - CORNER_M
    off = np.where(clear, off, np.inf)
    axis = np.argmin(off, axis=0)
    index = np.flatnonzero(off.min(axis=0) < NEAR_M)
    return OnSides(index=index, axis=axis[index], sign=np.sign(place[axis[index], index]))


def placed(walk: Walk, pose: Floats) -> Floats:
    """The walk in the arena's frame, shape (2, n)."""
    cos, sin = np.cos(pose[0]), np.sin(pose[0])
    east, north = walk.east_m - pose[1], walk.north_m - pose[2]
    return np.stack([cos * east - sin * north, sin * east + cos * north])


def _levels(walk: Walk, pose: Floats) -> tuple[float, float]:
    """The likeliest wander of the receiver and how long it lasts, what is usual counted in."""
    sides, worth = on_sides(walk, pose), {}
    for levels in product(WANDER_M, WANDER_S):
        off = np.log(np.array(levels) / (USUAL_WANDER_M, USUAL_WANDER_S)) / LEVELS_SPREAD
        worth[levels] = _step(walk, pose, sides, levels)[2] + float(off @ off)
    return min(worth, key=lambda levels: worth[levels])


def _step(
    walk: Walk, pose: Floats, sides: OnSides, levels: tuple[float, float]
) -> tuple[Floats, Floats, float]:
    """A Gauss-Newton step, its covariance, and twice the negative restricted log likelihood."""
    place = placed(walk, pose)[:, sides.index]
    residual = sides.sign * place[sides.axis, np.arange(len(sides.index))]
    residual -= walk.half_m[sides.axis] - pose[3]
    slopes = _slopes(pose, place, sides)
    factor = cho_factor(_covariance(walk.t_s[sides.index], sides, levels), lower=True)
    weighed = cho_solve(factor, slopes)
    normal = slopes.T @ weighed
    normal[3, 3] += 1 / WALKER_OFFSET_SD_M**2
    pull = -weighed.T @ residual
    pull[3] -= (pose[3] - WALKER_OFFSET_M) / WALKER_OFFSET_SD_M**2
    covariance: Floats = np.linalg.inv(normal).astype(np.float64)
    step: Floats = covariance @ pull
    left = residual + slopes @ step
    cost = float(left @ cho_solve(factor, left)) + 2 * float(np.log(np.diag(factor[0])).sum())
    return step, covariance, cost + float(np.linalg.slogdet(normal)[1])


def _slopes(pose: Floats, place: Floats, sides: OnSides) -> Floats:
    """Derivatives of the distances beyond the walked line by rotation, centre and offset."""
    cos, sin = np.cos(pose[0]), np.sin(pose[0])
    across = sides.axis == 0
    turned = np.where(across, -place[1], place[0])
    by_east, by_north = np.where(across, -cos, -sin), np.where(across, sin, -cos)
    ones = np.ones(len(across))
    slopes: Floats = np.stack(
        [sides.sign * turned, sides.sign * by_east, sides.sign * by_north, ones], axis=1
    )
    return slopes


def _covariance(t_s: Floats, sides: OnSides, levels: tuple[float, float]) -> Floats:
    """Of the distances: a slow error per axis, a walker's straying per side, and jitter."""
    apart = np.abs(t_s[:, None] - t_s)
    same_axis = sides.axis[:, None] == sides.axis
    signs = sides.sign[:, None] * sides.sign
    slow = levels[0] ** 2 * np.exp(-apart / levels[1]) * same_axis * signs
    stray = STRAY_M**2 * np.exp(-apart / STRAY_S) * same_axis * (signs > 0)
    total: Floats = slow + stray + JITTER_M**2 * np.eye(len(t_s))
    return total
