"""Least-squares circle and line through points, by geometric (orthogonal) distance."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from track.path import Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class CircleFit:
    """The least-squares circle (LSCI, ISO 12181-1): centre, radius, radial deviations, metres."""

    x_m: float
    y_m: float
    radius_m: float
    deviation_m: Floats

    @property
    def sum_of_squares_m2(self) -> float:
        """Sum of squared radial deviations."""
        return float((self.deviation_m**2).sum())


def fit_circle(
    x_m: Floats,
    y_m: Floats,
    *,
    radius_m: float | None = None,
    radius_weight: float = 0.0,
) -> CircleFit:
    """Fit a circle by least squares of the geometric distance.

    Gauss-Newton with step halving, started from the algebraic fit. The algebraic (Kåsa) radius
    itself is not returned: on short arcs it is far too small.

    Parameters
    ----------
    x_m, y_m : array, shape (n,), m
        At least three points that do not lie on a line.
    radius_m, radius_weight : float, optional
        A weak prior: the squared difference from this radius counts as much as this many points.

    Raises
    ------
    ValueError
        Fewer than three points, or all on one line.

    Examples
    --------
    >>> import numpy as np
    >>> fit = fit_circle(np.array([1.0, 0.0, -1.0, 0.0]), np.array([0.0, 1.0, 0.0, -1.0]))
    >>> round(fit.radius_m, 6), round(fit.sum_of_squares_m2, 6)
    (1.0, 0.0)
    """
    x, y = np.asarray(x_m, dtype=np.float64), np.asarray(y_m, dtype=np.float64)
    at = _algebraic(x, y)
    here = _cost(x, y, at, radius_m, radius_weight)
    for _ in range(200):
        step = _step(x, y, at, radius_m, radius_weight)
        there = _cost(x, y, at + step, radius_m, radius_weight)
        while there > here and np.abs(step).max() > 1e-13:
            step = step / 2
            there = _cost(x, y, at + step, radius_m, radius_weight)
        at, here = at + step, there
        if np.abs(step).max() < 1e-12 * max(1.0, at[2]):
            break
    deviation = np.hypot(x - at[0], y - at[1]) - at[2]
    return CircleFit(
        x_m=float(at[0]), y_m=float(at[1]), radius_m=float(at[2]), deviation_m=deviation
    )


def _algebraic(x: Floats, y: Floats) -> Floats:
    """Kåsa's fit as a starting point: centre and radius."""
    mx, my = x.mean(), y.mean()
    u, v = x - mx, y - my
    design = np.stack([u, v, np.ones_like(u)], axis=1)
    if len(x) < 3 or np.linalg.matrix_rank(design, tol=1e-9 * max(np.ptp(x), np.ptp(y), 1.0)) < 3:
        raise ValueError("a circle needs three points that are not on one line")
    a, b, c = np.linalg.lstsq(design, u**2 + v**2, rcond=None)[0]
    return np.array([mx + a / 2, my + b / 2, np.sqrt(c + (a**2 + b**2) / 4)])


def _cost(x: Floats, y: Floats, at: Floats, prior: float | None, weight: float) -> float:
    off = ((np.hypot(x - at[0], y - at[1]) - at[2]) ** 2).sum()
    return float(off + (weight * (at[2] - prior) ** 2 if prior is not None else 0.0))


def _step(x: Floats, y: Floats, at: Floats, prior: float | None, weight: float) -> Floats:
    slope, off = circle_slopes(x, y, at)
    normal = slope.T @ slope
    right = -slope.T @ off
    if prior is not None:
        normal[2, 2] += weight
        right[2] -= weight * (at[2] - prior)
    return np.asarray(np.linalg.solve(normal, right))


def circle_slopes(x: Floats, y: Floats, at: Floats) -> tuple[Floats, Floats]:
    """Derivatives of the radial deviations by centre and radius, and the deviations."""
    dx, dy = x - at[0], y - at[1]
    distance = np.maximum(np.hypot(dx, dy), 1e-12)
    slope = np.stack([-dx / distance, -dy / distance, -np.ones_like(distance)], axis=1)
    return slope, distance - at[2]


@dataclass(frozen=True, slots=True, kw_only=True)
class LineFit:
    """The orthogonal least-squares lines (Pearson 1901) through points, one per row.

    Attributes
    ----------
    x_m, y_m : array, m
        Mean of the points.
    direction_rad : array, rad
        Along the line, from the first point towards the last.
    deviation_m : array, shape (..., k), m
        Left of the direction positive.
    along_m : array, shape (..., k), m
    """

    x_m: Floats
    y_m: Floats
    direction_rad: Floats
    deviation_m: Floats
    along_m: Floats

    def left_m(self, x_m: Floats, y_m: Floats) -> Floats:
        """Signed distance of points from the line, left of its direction positive, metres."""
        cos, sin = np.cos(self.direction_rad), np.sin(self.direction_rad)
        u, v = x_m - self.x_m[..., None], y_m - self.y_m[..., None]
        return np.asarray(v * cos[..., None] - u * sin[..., None])

    def y_at(self, x_m: float) -> Floats:
        """Where the line reaches an ``x``, metres."""
        return np.asarray(self.y_m + (x_m - self.x_m) * np.tan(self.direction_rad))


def fit_line(x_m: Floats, y_m: Floats) -> LineFit:
    """Fit lines by least squares of the orthogonal distance.

    Parameters
    ----------
    x_m, y_m : array, shape (..., k), m

    Examples
    --------
    >>> import numpy as np
    >>> fit = fit_line(np.array([0.0, 1.0, 2.0]), np.array([1.0, 1.0, 1.0]))
    >>> round(float(fit.direction_rad), 6), float(fit.y_m)
    (0.0, 1.0)
    """
    x, y = np.asarray(x_m, dtype=np.float64), np.asarray(y_m, dtype=np.float64)
    mean_x, mean_y = x.mean(axis=-1), y.mean(axis=-1)
    u, v = x - mean_x[..., None], y - mean_y[..., None]
    angle = 0.5 * np.arctan2(2 * (u * v).sum(axis=-1), (u * u - v * v).sum(axis=-1))
    ahead = (x[..., -1] - x[..., 0]) * np.cos(angle) + (y[..., -1] - y[..., 0]) * np.sin(angle)
    angle = np.where(ahead < 0, angle + np.pi, angle)
    cos, sin = np.cos(angle)[..., None], np.sin(angle)[..., None]
    return LineFit(
        x_m=mean_x,
        y_m=mean_y,
        direction_rad=(angle + np.pi) % (2 * np.pi) - np.pi,
        deviation_m=v * cos - u * sin,
        along_m=u * cos + v * sin,
    )
