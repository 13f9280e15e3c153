"""Plane geometry on the points of a ridden line: straight fits, extents, tightest turns."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.interpolate import CubicSpline

from track.path import Floats, Ints


@dataclass(frozen=True, slots=True, kw_only=True)
class Straight:
    """A directed least-squares line through points (orthogonal regression).

    Attributes
    ----------
    x_m, y_m : float, m
        Its centroid.
    heading_rad : float, rad
    """

    x_m: float
    y_m: float
    heading_rad: float

    def left_m(self, x_m: Floats, y_m: Floats) -> Floats:
        """Signed distance from the line, left of its direction positive, metres."""
        sine, cosine = np.sin(self.heading_rad), np.cos(self.heading_rad)
        distance: Floats = -(x_m - self.x_m) * sine + (y_m - self.y_m) * cosine
        return distance

    def y_at(self, x_m: float) -> float:
        """Where the line reaches an ``x``, metres."""
        return self.y_m + (x_m - self.x_m) * float(np.tan(self.heading_rad))


def straight_through(x_m: Floats, y_m: Floats) -> Straight:
    """Fit the orthogonal least-squares line (Pearson 1901), directed as it is ridden.

    Examples
    --------
    >>> line = straight_through(np.array([0.0, 1.0, 2.0]), np.array([1.0, 2.0, 3.0]))
    >>> round(float(np.rad2deg(line.heading_rad)), 6)
    45.0
    """
    points = np.column_stack([x_m - x_m.mean(), y_m - y_m.mean()])
    _, _, axes = np.linalg.svd(points, full_matrices=False)
    ahead = axes[0] * np.sign(axes[0] @ (points[-1] - points[0]) or 1.0)
    return Straight(
        x_m=float(x_m.mean()),
        y_m=float(y_m.mean()),
        heading_rad=float(np.arctan2(ahead[1], ahead[0])),
    )


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


def headings_rad(x_m: Floats, y_m: Floats) -> Floats:
    """Unwrapped heading at each point, from its neighbours, rad."""
    return np.unwrap(np.arctan2(np.gradient(y_m), np.gradient(x_m)))


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


def nearest_m(x_m: Floats, y_m: Floats, point: tuple[float, float]) -> float:
    """Nearest distance of a line through points to a place, metres."""
    ax, ay, bx, by = x_m[:-1], y_m[:-1], x_m[1:], y_m[1:]
    length2 = np.maximum((bx - ax) ** 2 + (by - ay) ** 2, 1e-12)
    along = np.clip(((point[0] - ax) * (bx - ax) + (point[1] - ay) * (by - ay)) / length2, 0, 1)
    return float(
        np.hypot(ax + along * (bx - ax) - point[0], ay + along * (by - ay) - point[1]).min()
    )


def crossings(x_m: Floats) -> list[int]:
    """Indices before which the points change sides of ``x = 0``."""
    return [int(i) + 1 for i in np.flatnonzero(np.sign(x_m[:-1]) * np.sign(x_m[1:]) < 0)]
