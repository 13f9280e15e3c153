"""Circles, half circles and lines of a path, each number with the doubt of the whole path.

Numbers that are linear in small displacements (diameter, centre, width) get their sd by that
alone. Deviations and extents are not: they are worked out on the fitted waves for some hundreds
of possible true shapes, drawn from the waves' covariance. The path is itself the likeliest line,
so a deviation is told as it is on that line: nothing is taken off for noise.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np

from track.path import Estimate, Floats, Path
from track.shapes_fit import CircleFit, circle_slopes, fit_circle, fit_line
from track.stretch import SPACING_S, Stretch, measured, one_by_one, stretch_of

WAVES: Final = 4
"""Undulations per revolution that count as out of round (ISO 12181-1 with a filter of 4)."""
EXTENT_WAVES: Final = 6
"""Undulations that the extents are worked out from."""
TURNED_EDGE_SD_S: Final = 0.1
"""Doubt of when a circle begins and ends: its turned heading tells it."""
DRAWS: Final = 400
ROUND: Final = np.linspace(0.0, 2 * np.pi, 180, endpoint=False)
Measure = Callable[[Floats, float], Floats]


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
        draws = away + _draws(2) @ _root(self.centre_covariance_m2).T
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


@dataclass(frozen=True, slots=True, kw_only=True)
class LineShape:
    """A straight as it was ridden.

    Attributes
    ----------
    direction_rad : Estimate
        Of the least-squares line, in the direction of travel.
    wander_m : Estimate
        Root mean square distance from it (STRq, ISO 12780-1).
    heading_wobble_rad : Estimate
        sd of the heading.
    length_m : float
    """

    direction_rad: Estimate
    wander_m: Estimate
    heading_wobble_rad: Estimate
    length_m: float


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
    waves, spread = _waves(stretch, fit, carry, WAVES)
    fine, fine_spread = _waves(stretch, fit, carry, EXTENT_WAVES)
    return CircleShape(
        diameter_m=_estimate(2 * fit.radius_m, 4 * core[2, 2]),
        centre_x_m=_estimate(fit.x_m, core[0, 0]),
        centre_y_m=_estimate(fit.y_m, core[1, 1]),
        centre_covariance_m2=core[:2, :2],
        out_of_round_m=_over_shapes(_peak_to_valley, waves, spread),
        length_minus_width_m=_over_shapes(
            _length_minus_width, fine, fine_spread, radius_m=fit.radius_m
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
        diameter_m=_estimate(2 * fit.radius_m, 4 * core[2, 2] + edges),
        centre_x_m=_estimate(fit.x_m, core[0, 0]),
        centre_y_m=_estimate(fit.y_m, core[1, 1]),
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

    return _estimate(float(np.ptp(across)), stretch.variance(row) + stretch.edge_variance(extent_m))


def line_of(path: Path, start_s: float, end_s: float) -> LineShape:
    """Measure a straight; where the horse stands it has no heading.

    Raises
    ------
    ValueError
        Fewer than three epochs.
    """
    stretch = stretch_of(path, start_s, end_s)
    fit = fit_line(stretch.x_m, stretch.y_m)
    along = fit.along_m
    normal = np.zeros((along.size, 2 * along.size))
    normal[np.arange(along.size), 2 * np.arange(along.size)] = -np.sin(fit.direction_rad)
    normal[np.arange(along.size), 2 * np.arange(along.size) + 1] = np.cos(fit.direction_rad)
    moving = np.interp(stretch.t_s, path.t_s, path.speed_ms) > LEAST_SPEED_MS
    return LineShape(
        direction_rad=_estimate(
            float(fit.direction_rad), stretch.variance(along @ normal / float(along @ along))
        ),
        wander_m=measured(stretch, rms_from_line_m),
        heading_wobble_rad=measured(
            stretch, lambda x_m, y_m: heading_wobble_rad(x_m[:, moving], y_m[:, moving])
        ),
        length_m=float(np.ptp(along)),
    )


LEAST_SPEED_MS: Final = 0.6


def line_offset_of(
    path: Path, start_s: float, end_s: float, point_m: tuple[float, float], direction_rad: float
) -> Estimate:
    """Mean signed distance from an ideal line, left of travel positive.

    Parameters
    ----------
    path : Path
    start_s, end_s : float, s
    point_m : (float, float), m
        Any point of the ideal line.
    direction_rad : float, rad
        Of travel along it.
    """
    stretch = stretch_of(path, start_s, end_s)
    normal = np.array([-np.sin(direction_rad), np.cos(direction_rad)])
    off = (stretch.x_m - point_m[0]) * normal[0] + (stretch.y_m - point_m[1]) * normal[1]
    return _estimate(float(off.mean()), stretch.variance(np.tile(normal, off.size) / off.size))


def rms_from_line_m(x_m: Floats, y_m: Floats) -> Floats:
    """Root mean square deviation from the least-squares line (STRq, ISO 12780-1), metres.

    Examples
    --------
    Pearson's points of 1901 lie 0.2487 about their line:

    >>> x_m = np.array([0, 0.9, 1.8, 2.6, 3.3, 4.4, 5.2, 6.1, 6.5, 7.4])
    >>> y_m = np.array([5.9, 5.4, 4.4, 4.6, 3.5, 3.7, 2.8, 2.8, 2.4, 1.5])
    >>> round(float(rms_from_line_m(x_m, y_m)), 7)
    0.2487112
    """
    return np.asarray(np.sqrt((fit_line(x_m, y_m).deviation_m ** 2).mean(axis=-1)))


def heading_wobble_rad(x_m: Floats, y_m: Floats) -> Floats:
    """Return the standard deviation of the heading along each line, rad.

    The heading over three points: about a stride, within which a rider's body sways.
    """
    dx, dy = x_m[..., 3:] - x_m[..., :-3], y_m[..., 3:] - y_m[..., :-3]
    # About the way from end to end: unwrapped, one step back at a halt would turn all that follows.
    way = np.arctan2(dy.sum(axis=-1), dx.sum(axis=-1))[..., None]
    aside = np.angle(np.exp(1j * (np.arctan2(dy, dx) - way)))
    return np.asarray(aside.std(axis=-1))


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


def _estimate(value: float, variance: float) -> Estimate:
    return Estimate(value=float(value), sd=float(np.sqrt(max(variance, 0.0))))


def _radial(angle: Floats) -> Floats:
    """Radial part of each point's displacement, shape (n, 2 n)."""
    n = len(angle)
    out = np.zeros((n, 2 * n))
    out[np.arange(n), 2 * np.arange(n)] = np.cos(angle)
    out[np.arange(n), 2 * np.arange(n) + 1] = np.sin(angle)
    return out


def circle_carry(x: Floats, y: Floats, fit: CircleFit, weight: float = 0.0) -> Floats:
    """Derivative of centre and radius by the points, shape (3, 2 n); to first order in noise."""
    slope = -circle_slopes(x, y, np.array([fit.x_m, fit.y_m, fit.radius_m]))[0]
    normal = slope.T @ slope
    normal[2, 2] += weight
    angle = np.arctan2(y - fit.y_m, x - fit.x_m)
    return np.asarray(np.linalg.solve(normal, slope.T @ _radial(angle)))


def _wave_design(angle: Floats, waves: int) -> Floats:
    return np.stack([f(k * angle) for k in range(1, waves + 1) for f in (np.cos, np.sin)], axis=1)


def _waves(stretch: Stretch, fit: CircleFit, carry: Floats, count: int) -> tuple[Floats, Floats]:
    """Coefficients of the radial waves about the fitted circle, and their covariance."""
    angle = np.arctan2(stretch.y_m - fit.y_m, stretch.x_m - fit.x_m)
    solve = np.linalg.pinv(_wave_design(angle, count))
    slopes = np.stack([np.cos(angle), np.sin(angle), np.ones_like(angle)], axis=1)
    lever = solve @ (_radial(angle) - slopes @ carry)
    return solve @ fit.deviation_m, stretch.covariance(lever)


def _peak_to_valley(waves: Floats, radius_m: float) -> Floats:
    """RONt of each row of wave coefficients."""
    peaks: Floats = np.ptp(waves @ _wave_design(ROUND, waves.shape[1] // 2).T, axis=1)
    return peaks


def _length_minus_width(waves: Floats, radius_m: float) -> Floats:
    radius = radius_m + waves @ _wave_design(ROUND, waves.shape[1] // 2).T
    extents: Floats = np.ptp(radius * np.sin(ROUND), axis=1) - np.ptp(
        radius * np.cos(ROUND), axis=1
    )
    return extents


def _over_shapes(
    measure: Measure, waves: Floats, spread: Floats, *, radius_m: float = 0.0
) -> Estimate:
    """A measure of a shape, over shapes that it may truly have been."""
    draws = waves + _draws(waves.size) @ _root(spread).T
    value = float(measure(waves[None, :], radius_m)[0])
    return Estimate(value=value, sd=float(np.std(measure(draws, radius_m))))


def _draws(count: int) -> Floats:
    half = np.random.default_rng(12181).normal(size=(DRAWS // 2, count))
    return np.concatenate([half, -half])


def _root(spread: Floats) -> Floats:
    values, vectors = np.linalg.eigh((spread + spread.T) / 2)
    root: Floats = vectors * np.sqrt(np.maximum(values, 0.0))
    return root
