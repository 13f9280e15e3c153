"""Measures of circles and half circles on points of ridden lines, many lines at once.

Every function takes ``x_m`` and ``y_m`` of shape ``(n, k)``: n lines of k points each, the path
itself and draws from its posterior; it returns one number per line.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from track.path import Floats

WAVES: Final = (1, 2, 3, 4)
"""Undulations per revolution that count as out of round."""
_ROUND: Final = np.linspace(0.0, 2 * np.pi, 180, endpoint=False)
_STEPS: Final = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class Circles:
    """Least-squares circles (LSCI, ISO 12181-1), one per line.

    Attributes
    ----------
    x_m, y_m, radius_m : array, shape (n,), m
    deviation_m : array, shape (n, k), m
        Radial, outward positive.
    """

    x_m: Floats
    y_m: Floats
    radius_m: Floats
    deviation_m: Floats


def fitted(x_m: Floats, y_m: Floats) -> Circles:
    """Fit a circle to each line by least squares of the geometric distance (Gauss-Newton).

    Examples
    --------
    >>> t = np.linspace(0, 2 * np.pi, 50, endpoint=False)
    >>> circle = fitted(9 * np.cos(t)[None, :] + 2, 9 * np.sin(t)[None, :])
    >>> round(float(circle.radius_m[0]), 6), round(float(circle.x_m[0]), 6)
    (9.0, 2.0)
    """
    at = _algebraic(x_m, y_m)
    for _ in range(_STEPS):
        at = at + _step(x_m, y_m, at)
    distance = np.hypot(x_m - at[:, :1], y_m - at[:, 1:2])
    return Circles(x_m=at[:, 0], y_m=at[:, 1], radius_m=at[:, 2], deviation_m=distance - at[:, 2:])


def _algebraic(x_m: Floats, y_m: Floats) -> Floats:
    """Centre and radius of Kåsa's fit: a place to start from, too small on short arcs."""
    mean_x, mean_y = x_m.mean(axis=1, keepdims=True), y_m.mean(axis=1, keepdims=True)
    u, v = x_m - mean_x, y_m - mean_y
    design = np.stack([u, v, np.ones_like(u)], axis=2)
    a, b, c = _solved(design, u**2 + v**2).T
    radius = np.sqrt(np.maximum(c + (a**2 + b**2) / 4, 1e-6))
    return np.stack([mean_x[:, 0] + a / 2, mean_y[:, 0] + b / 2, radius], axis=1)


def _step(x_m: Floats, y_m: Floats, at: Floats) -> Floats:
    dx, dy = x_m - at[:, :1], y_m - at[:, 1:2]
    distance = np.maximum(np.hypot(dx, dy), 1e-9)
    slopes = np.stack([-dx / distance, -dy / distance, -np.ones_like(distance)], axis=2)
    return -_solved(slopes, distance - at[:, 2:])


def _solved(design: Floats, right: Floats) -> Floats:
    """Least-squares solution of many small systems."""
    turned = design.transpose(0, 2, 1)
    normal = turned @ design + 1e-9 * np.eye(design.shape[2])
    solved = np.linalg.solve(normal, turned @ right[:, :, None])[:, :, 0]
    return np.asarray(solved, dtype=np.float64)


def diameter_m(x_m: Floats, y_m: Floats) -> Floats:
    """Diameter of the least-squares circle, metres."""
    return 2 * fitted(x_m, y_m).radius_m


def out_of_round_m(x_m: Floats, y_m: Floats) -> Floats:
    """Peak-to-valley radial deviation from the LSCI (RONt) in waves of 1 to 4, metres.

    Examples
    --------
    An oval of semi-axes 10 and 9 m has RONt 1 (geometry):

    >>> t = np.linspace(0, 2 * np.pi, 400)
    >>> round(float(out_of_round_m(10 * np.cos(t)[None, :], 9 * np.sin(t)[None, :])[0]), 2)
    1.0
    """
    circles = fitted(x_m, y_m)
    angle = np.arctan2(y_m - circles.y_m[:, None], x_m - circles.x_m[:, None])
    weights = _solved(_waves(angle), circles.deviation_m)
    return np.asarray(np.ptp(weights[:, 1:] @ _waves(_ROUND)[:, 1:].T, axis=1))


def _waves(angle_rad: Floats) -> Floats:
    columns = [np.ones_like(angle_rad)]
    for wave in WAVES:
        columns += [np.cos(wave * angle_rad), np.sin(wave * angle_rad)]
    return np.stack(columns, axis=-1)


def length_minus_width_m(x_m: Floats, y_m: Floats) -> Floats:
    """Extent along y less extent along x, metres."""
    return np.asarray(np.ptp(y_m, axis=1) - np.ptp(x_m, axis=1))


def centre_offset_m(x_m: Floats, y_m: Floats, centre_m: tuple[float, float]) -> Floats:
    """Distance of the LSCI's centre from where it is asked, metres."""
    circles = fitted(x_m, y_m)
    return np.hypot(circles.x_m - centre_m[0], circles.y_m - centre_m[1])


def width_m(x_m: Floats, y_m: Floats, heading_rad: float) -> Floats:
    """Extent across a heading, metres.

    Examples
    --------
    >>> t = np.linspace(0, np.pi, 100)
    >>> round(float(width_m(5 * np.sin(t)[None, :], 5 - 5 * np.cos(t)[None, :], 0.0)[0]), 6)
    10.0
    """
    return np.asarray(np.ptp(y_m * np.cos(heading_rad) - x_m * np.sin(heading_rad), axis=1))
