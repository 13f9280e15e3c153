"""Plane geometry on the points of a ridden line: distances, tightest turns."""

from __future__ import annotations

import numpy as np
from scipy.interpolate import CubicSpline

from track.path import Floats, Ints


def along_m(x_m: Floats, y_m: Floats) -> Floats:
    """Distance along the points, metres."""
    return np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(x_m), np.diff(y_m)))])


def onward(along: Floats, step_m: float = 0.05) -> Ints:
    """Indices at which the distance ridden is a step further than ever before.

    A rider standing still drifts to and fro by centimetres; those points are left out.

    Parameters
    ----------
    along : array, shape (n,), m
        Distance ridden at each point.
    step_m : float, m
        What counts as further.

    Examples
    --------
    >>> onward(np.array([0.0, 1.0, 0.9, 0.98, 2.0])).tolist()
    [0, 1, 4]
    """
    furthest = np.maximum.accumulate(along)
    return np.flatnonzero(np.diff(furthest, prepend=-np.inf) > step_m).astype(np.int64)


def least_radius_m(along: Floats, heading_rad: Floats, window_m: float) -> float:
    """Least radius over a window of path, metres: its length over the heading it turns.

    Parameters
    ----------
    along : array, shape (n,), m
        Distance ridden at each point, strictly ascending.
    heading_rad : array, shape (n,), rad
        Unwrapped; taken as smooth between the points (cubic spline).
    window_m : float, m
        One stride's length.

    Examples
    --------
    >>> round(least_radius_m(np.arange(12.0), np.arange(12.0) / 5, 2.5), 6)
    5.0
    """
    fine = np.arange(along[0], along[-1], 0.1)
    heading = CubicSpline(along, heading_rad)(fine)
    ahead = max(1, round(window_m / 0.1))
    if fine.size <= ahead:
        return float(window_m / max(np.ptp(heading_rad), 1e-3))
    turned = np.abs(heading[ahead:] - heading[:-ahead]).max()
    return float(0.1 * ahead / max(turned, 1e-3))


def nearest_m(x_m: Floats, y_m: Floats, point: tuple[float, float]) -> Floats:
    """Nearest distance of lines through points, one per row, to a place, metres."""
    ax, ay, bx, by = x_m[..., :-1], y_m[..., :-1], x_m[..., 1:], y_m[..., 1:]
    length2 = np.maximum((bx - ax) ** 2 + (by - ay) ** 2, 1e-12)
    along = np.clip(((point[0] - ax) * (bx - ax) + (point[1] - ay) * (by - ay)) / length2, 0, 1)
    miss = np.hypot(ax + along * (bx - ax) - point[0], ay + along * (by - ay) - point[1])
    return np.asarray(miss.min(axis=-1))


def crossings(x_m: Floats) -> list[int]:
    """Indices before which the points change sides of ``x = 0``."""
    return [int(i) + 1 for i in np.flatnonzero(np.sign(x_m[:-1]) * np.sign(x_m[1:]) < 0)]
