"""Circles and half circles of a path, each number with the doubt of the whole path.

Numbers that are linear in small displacements (diameter, centre, width) get their sd by that
alone. Deviations and extents are not: they are worked out on the fitted waves for some hundreds
of possible true shapes, drawn from the waves' covariance. The path is itself the likeliest line,
so a deviation is told as it is on that line: nothing is taken off for noise.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from track.path import Estimate, Floats, Path
from track.shapes_fit import CircleFit, circle_slopes, fit_circle
from track.shapes_line import LEAST_SPEED_MS
from track.shapes_waves import (
    drawn,
    length_minus_width_m,
    over_shapes,
    peak_to_valley_m,
    radial_of,
    waves_of,
)
from track.stretch import SPACING_S, Stretch, estimate_of, measured, one_by_one, stretch_of

WAVES: Final = 4
"""Undulations per revolution that count as out of round (ISO 12181-1 with a filter of 4)."""
EXTENT_WAVES: Final = 6
"""Undulations that the extents are worked out from."""
TURNED_EDGE_SD_S: Final = 0.1
"""Doubt of when a circle begins and ends: its turned heading tells it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CircleShape:
    """A full circle as it was ridden; metres.

    Attributes
    ----------
    diameter_m : Estimate
        Of the least-squares circle (LSCI, ISO 12181-1).
    centre_x_m, centre_y_m : Estimate
    centre_covariance_m2 : array, shape (2, 2)
    out_of_round_m : Estimate
        Peak-to-valley radial deviation (RONt) of waves of 1 to 4 undulations.
    length_minus_width_m : Estimate
        Extent along y less extent along x.
    second_half_m : Estimate
        Mean radius of the second half less that of the first.
    """

    diameter_m: Estimate
    centre_x_m: Estimate
    centre_y_m: Estimate
    centre_covariance_m2: Floats
    out_of_round_m: Estimate
    length_minus_width_m: Estimate
    second_half_m: Estimate

    def centre_offset_m(self, x_m: float, y_m: float) -> Estimate:
        """Distance of the centre from where it is asked."""
        away = np.array([self.centre_x_m.value - x_m, self.centre_y_m.value - y_m])
        draws = drawn(away, self.centre_covariance_m2)
        sd = float(np.std(np.hypot(draws[:, 0], draws[:, 1])))
        return Estimate(value=float(np.hypot(*away)), sd=sd)


@dataclass(frozen=True, slots=True, kw_only=True)
class HalfCircleShape:
    """A half circle as it was ridden; metres.

    Attributes
    ----------
    width_m : Estimate
        Extent across the heading at its start.
    diameter_m : Estimate
        Of the circle fitted with a weak prior: half a circle alone says little of its radius.
    centre_x_m, centre_y_m : Estimate
    """

    width_m: Estimate
    diameter_m: Estimate
    centre_x_m: Estimate
    centre_y_m: Estimate


def circle_of(path: Path, start_s: float, end_s: float) -> CircleShape:
    """Measure a full circle.

    Parameters
    ----------
    path : Path
    start_s, end_s : float, s
        When the circle begins and ends.

    Raises
    ------
    ValueError
        Fewer than three epochs, or all on one line.
    """
    # Half-open: a circle that closes does not count its first place twice.
    return circle_through(stretch_of(path, start_s, end_s - SPACING_S, edge_sd_s=TURNED_EDGE_SD_S))


def circle_through(stretch: Stretch) -> CircleShape:
    """Measure a full circle on points that are already taken."""
    x, y = stretch.x_m, stretch.y_m
    fit = fit_circle(x, y)
    carry = circle_carry(x, y, fit)
    core = stretch.covariance(carry)
    waves, spread = waves_of(stretch, fit, carry, WAVES)
    fine, fine_spread = waves_of(stretch, fit, carry, EXTENT_WAVES)
    return CircleShape(
        diameter_m=estimate_of(2 * fit.radius_m, 4 * core[2, 2]),
        centre_x_m=estimate_of(fit.x_m, core[0, 0]),
        centre_y_m=estimate_of(fit.y_m, core[1, 1]),
        centre_covariance_m2=core[:2, :2],
        out_of_round_m=over_shapes(peak_to_valley_m, waves, spread),
        length_minus_width_m=over_shapes(
            length_minus_width_m, fine, fine_spread, radius_m=fit.radius_m
        ),
        second_half_m=measured(stretch, second_half_m),
    )


def half_circle_of(
    path: Path,
    start_s: float,
    end_s: float,
    *,
    radius_m: float | None = None,
    radius_sd_m: float = 2.0,
) -> HalfCircleShape:
    """Measure a half circle.

    Parameters
    ----------
    path : Path
    start_s, end_s : float, s
    radius_m, radius_sd_m : float, optional, m
        The radius asked for and how far riders stray from it: a weak prior of the fitted circle.
        The width does not use it.

    Raises
    ------
    ValueError
        Too few epochs, or all on one line.
    """
    stretch = stretch_of(path, start_s, end_s)
    x, y = stretch.x_m, stretch.y_m
    weight = 0.0
    if radius_m is not None:
        # One independent point per two seconds or so, each as sure as the path is.
        noise = float((stretch.root**2).sum()) / (2 * x.size)
        weight = noise / radius_sd_m**2 * max((end_s - start_s) / 2, 1.0)
    fit = fit_circle(x, y, radius_m=radius_m, radius_weight=weight)
    core = stretch.covariance(circle_carry(x, y, fit, weight))
    heading = float(np.interp(start_s, path.t_s, path.heading_rad))

    def diameter_m(x_m: Floats, y_m: Floats) -> float:
        return 2 * fit_circle(x_m, y_m, radius_m=radius_m, radius_weight=weight).radius_m

    edges = stretch.edge_variance(one_by_one(diameter_m))
    return HalfCircleShape(
        width_m=width_of(stretch, heading),
        diameter_m=estimate_of(2 * fit.radius_m, 4 * core[2, 2] + edges),
        centre_x_m=estimate_of(fit.x_m, core[0, 0]),
        centre_y_m=estimate_of(fit.y_m, core[1, 1]),
    )


def width_of(stretch: Stretch, heading_rad: float) -> Estimate:
    """Extent of a stretch across a heading, metres: between the two points farthest apart so."""
    normal = np.array([-np.sin(heading_rad), np.cos(heading_rad)])
    across = stretch.x_m * normal[0] + stretch.y_m * normal[1]
    low, high = int(np.argmin(across)), int(np.argmax(across))
    row = np.zeros(2 * across.size)
    row[2 * high : 2 * high + 2] = normal
    row[2 * low : 2 * low + 2] -= normal

    def extent_m(x_m: Floats, y_m: Floats) -> Floats:
        return np.asarray(np.ptp(x_m * normal[0] + y_m * normal[1], axis=1))

    return estimate_of(
        float(np.ptp(across)), stretch.variance(row) + stretch.edge_variance(extent_m)
    )


def second_half_m(x_m: Floats, y_m: Floats) -> Floats:
    """Mean radius of a circle's second half less that of its first, metres.

    The mean radius of a half is the distance ridden over the heading turned: radii about one
    common centre would hide four fifths of a difference, because the centre gives way. A horse
    that stands keeps the heading it had.
    """
    dx, dy = np.diff(x_m, axis=-1), np.diff(y_m, axis=-1)
    length = np.hypot(dx, dy)
    moving = length > LEAST_SPEED_MS * SPACING_S
    last = np.maximum.accumulate(np.where(moving, np.arange(length.shape[-1]), 0), axis=-1)
    heading = np.unwrap(np.take_along_axis(np.arctan2(dy, dx), last, axis=-1), axis=-1)
    along = np.cumsum(length, axis=-1) - length / 2
    turned = heading - heading[:, :1]
    turned = np.maximum.accumulate(turned * np.sign(turned[:, -1:]), axis=-1)
    half = turned[:, -1] / 2
    middle = np.array([np.interp(h, t, s) for h, t, s in zip(half, turned, along, strict=True)])
    first, second = middle - along[:, 0], along[:, -1] - middle
    return np.asarray((second - first) / half)


def circle_carry(x: Floats, y: Floats, fit: CircleFit, weight: float = 0.0) -> Floats:
    """Derivative of centre and radius by the points, shape (3, 2 n); to first order in noise."""
    slope = -circle_slopes(x, y, np.array([fit.x_m, fit.y_m, fit.radius_m]))[0]
    normal = slope.T @ slope
    normal[2, 2] += weight
    angle = np.arctan2(y - fit.y_m, x - fit.x_m)
    return np.asarray(np.linalg.solve(normal, slope.T @ radial_of(angle)))
