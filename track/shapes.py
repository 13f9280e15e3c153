"""Circles, half circles and lines of a path, each number with the doubt of the whole path.

Neighbouring points of a path share their errors, so nothing here divides by a number of points:
the joint covariance of the path's epochs is carried through every fit. Numbers that are linear in
small displacements (diameter, centre, offset) get their sd by that alone. Extents and deviations
are not: they are worked out on the fitted waves for some hundreds of possible true shapes, drawn
from the covariance. Noise makes a deviation larger than it was, so its expected excess is taken
off (once, as in a bootstrap's correction of bias; Efron 1979 [recalled]) and nothing below nought
is left.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np

from track.path import Estimate, Floats, Ints, Path
from track.shapes_fit import CircleFit, circle_slopes, fit_circle, fit_line

WAVES: Final = 4
"""Undulations per revolution that count as out of round (ISO 12181-1 with a filter of 4)."""
EXTENT_WAVES: Final = 6
"""Undulations that the extents are worked out from."""
DRAWS: Final = 400
ROUND: Final = np.linspace(0.0, 2 * np.pi, 180, endpoint=False)
Measure = Callable[[Floats, float], Floats]
LEAST_POINTS: Final = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class CircleShape:
    """A full circle as it was ridden; metres.

    Attributes
    ----------
    diameter_m : Estimate
        Of the least-squares circle.
    centre_x_m, centre_y_m : Estimate
    centre_covariance_m2 : array, shape (2, 2)
    out_of_round_m : Estimate
        Peak-to-valley radial deviation (RONt) of waves of 1 to 4 undulations.
    length_minus_width_m : Estimate
        Extent along y less extent along x.
    second_half_m : Estimate
        Mean radius of the second half less the first.
    """

    diameter_m: Estimate
    centre_x_m: Estimate
    centre_y_m: Estimate
    centre_covariance_m2: Floats
    out_of_round_m: Estimate
    length_minus_width_m: Estimate
    second_half_m: Estimate


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
        Half-open interval of the circle.

    Raises
    ------
    ValueError
        Fewer than eight epochs, or all on one line.
    """
    at, x, y, covariance = _stretch(path, start_s, end_s)
    fit = fit_circle(x, y)
    carry = _circle_carry(x, y, fit)
    core = carry @ covariance @ carry.T
    angle = np.arctan2(y - fit.y_m, x - fit.x_m)
    waves, spread = _waves(angle, fit, carry, covariance, WAVES)
    fine, fine_spread = _waves(angle, fit, carry, covariance, EXTENT_WAVES)
    halves = _halves(at, angle)
    lever = halves @ _radial(angle)
    return CircleShape(
        diameter_m=_estimate(2 * fit.radius_m, 4 * core[2, 2]),
        centre_x_m=_estimate(fit.x_m, core[0, 0]),
        centre_y_m=_estimate(fit.y_m, core[1, 1]),
        centre_covariance_m2=core[:2, :2],
        out_of_round_m=_drawn(_peak_to_valley, waves, spread, debias=True),
        length_minus_width_m=_drawn(_length_minus_width, fine, fine_spread, radius_m=fit.radius_m),
        second_half_m=_estimate(
            float(halves @ fit.deviation_m),
            _through(lever - halves @ _slopes(x, y, fit) @ carry, covariance),
        ),
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
    at, x, y, covariance = _stretch(path, start_s, end_s, least=4)
    weight = 0.0
    if radius_m is not None:
        # One independent point per two seconds or so, each as sure as the path is.
        noise = float(np.trace(covariance)) / len(covariance)
        weight = noise / radius_sd_m**2 * max(len(x) / 4, 1.0)
    fit = fit_circle(x, y, radius_m=radius_m, radius_weight=weight)
    carry = _circle_carry(x, y, fit, weight)
    core = carry @ covariance @ carry.T
    return HalfCircleShape(
        width_m=_width(path, at, start_s, end_s),
        diameter_m=_estimate(2 * fit.radius_m, 4 * core[2, 2]),
        centre_x_m=_estimate(fit.x_m, core[0, 0]),
        centre_y_m=_estimate(fit.y_m, core[1, 1]),
    )


def line_of(path: Path, start_s: float, end_s: float) -> LineShape:
    """Measure a straight.

    Raises
    ------
    ValueError
        Fewer than four epochs.
    """
    at, x, y, covariance = _stretch(path, start_s, end_s, least=4)
    fit = fit_line(x, y)
    n, along = len(x), fit.along_m
    normal = np.zeros((n, 2 * n))
    normal[np.arange(n), 2 * np.arange(n)] = -np.sin(fit.direction_rad)
    normal[np.arange(n), 2 * np.arange(n) + 1] = np.cos(fit.direction_rad)
    turn = along @ normal / float(along @ along)
    rest = normal - normal.mean(axis=0) - np.outer(along, turn)
    spread = rest @ covariance @ rest.T
    heading = path.heading_rad[at]
    wobble = float(heading.std())
    # Headings of neighbours share their errors: only what differs along the line widens the sd.
    doubt = np.diff(rest, axis=0) @ covariance @ np.diff(rest, axis=0).T
    step = np.maximum(np.diff(along), 0.1)
    excess = float(np.mean(np.diag(doubt) / step**2))
    return LineShape(
        direction_rad=_estimate(fit.direction_rad, _through(turn, covariance)),
        wander_m=_root_mean_square(fit.deviation_m, spread),
        heading_wobble_rad=Estimate(
            value=float(np.sqrt(max(wobble**2 - excess, 0.0))),
            sd=float(np.sqrt(excess / max(n / 4, 1.0)) + 1e-6),
        ),
        length_m=float(np.ptp(along)),
    )


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
    _, x, y, covariance = _stretch(path, start_s, end_s, least=1)
    normal = np.array([-np.sin(direction_rad), np.cos(direction_rad)])
    off = (x - point_m[0]) * normal[0] + (y - point_m[1]) * normal[1]
    return _estimate(float(off.mean()), _through(np.tile(normal, len(x)) / len(x), covariance))


def _stretch(
    path: Path, start_s: float, end_s: float, least: int = LEAST_POINTS
) -> tuple[Ints, Floats, Floats, Floats]:
    at = path.between(start_s, end_s)
    if len(at) < least:
        raise ValueError(f"only {len(at)} epochs between {start_s:.1f} s and {end_s:.1f} s")
    return at, path.x_m[at], path.y_m[at], path.posterior.covariance(at)


def _estimate(value: float, variance: float) -> Estimate:
    return Estimate(value=float(value), sd=float(np.sqrt(max(variance, 0.0))))


def _through(row: Floats, covariance: Floats) -> float:
    return float(row @ covariance @ row)


def _radial(angle: Floats) -> Floats:
    """Radial part of each point's displacement, shape (n, 2 n)."""
    n = len(angle)
    out = np.zeros((n, 2 * n))
    out[np.arange(n), 2 * np.arange(n)] = np.cos(angle)
    out[np.arange(n), 2 * np.arange(n) + 1] = np.sin(angle)
    return out


def _slopes(x: Floats, y: Floats, fit: CircleFit) -> Floats:
    """Derivatives of the deviations by centre and radius, negated: what moves with the circle."""
    slope, _ = circle_slopes(x, y, np.array([fit.x_m, fit.y_m, fit.radius_m]))
    return -slope


def _circle_carry(x: Floats, y: Floats, fit: CircleFit, weight: float = 0.0) -> Floats:
    """Derivative of centre and radius by the points, shape (3, 2 n); to first order in noise."""
    slope = _slopes(x, y, fit)
    normal = slope.T @ slope
    normal[2, 2] += weight
    angle = np.arctan2(y - fit.y_m, x - fit.x_m)
    return np.asarray(np.linalg.solve(normal, slope.T @ _radial(angle)))


def _wave_design(angle: Floats, waves: int) -> Floats:
    return np.stack([f(k * angle) for k in range(1, waves + 1) for f in (np.cos, np.sin)], axis=1)


def _waves(
    angle: Floats, fit: CircleFit, carry: Floats, covariance: Floats, count: int
) -> tuple[Floats, Floats]:
    """Coefficients of the radial waves about the fitted circle, and their covariance."""
    design = _wave_design(angle, count)
    solve = np.linalg.pinv(design)
    slopes = np.stack([np.cos(angle), np.sin(angle), np.ones_like(angle)], axis=1)
    lever = solve @ (_radial(angle) - slopes @ carry)
    return solve @ fit.deviation_m, lever @ covariance @ lever.T


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


def _drawn(
    measure: Measure, waves: Floats, spread: Floats, *, radius_m: float = 0.0, debias: bool = False
) -> Estimate:
    """A measure of a shape, over shapes that it may truly have been."""
    root = _root(spread)
    half = np.random.default_rng(12181).normal(size=(DRAWS // 2, len(waves)))
    draws = waves + np.concatenate([half, -half]) @ root.T
    value = float(measure(waves[None, :], radius_m)[0])
    seen = np.asarray(measure(draws, radius_m))
    sd = float(np.sqrt(np.mean((seen - seen.mean()) ** 2)))
    if not debias:
        return Estimate(value=value, sd=sd)
    return Estimate(value=max(2 * value - float(seen.mean()), 0.0), sd=sd)


def _root(spread: Floats) -> Floats:
    values, vectors = np.linalg.eigh((spread + spread.T) / 2)
    root: Floats = vectors * np.sqrt(np.maximum(values, 0.0))
    return root


def _halves(at: Ints, angle: Floats) -> Floats:
    """Weights that take the mean of the first half, by turned angle, from that of the second."""
    turned = np.abs(np.unwrap(angle) - angle[0])
    second = turned > turned[-1] / 2
    weights: Floats = second / max(second.sum(), 1) - (~second) / max((~second).sum(), 1)
    return weights


def _root_mean_square(deviation: Floats, spread: Floats) -> Estimate:
    """Root mean square of deviations, the noise's own taken off."""
    n = len(deviation)
    mean_square = float((deviation**2).mean())
    excess = float(np.trace(spread)) / n
    value = np.sqrt(max(mean_square - excess, 0.0))
    # Variance of a quadratic form in Gaussian noise.
    variance = (4 * deviation @ spread @ deviation + 2 * float((spread**2).sum())) / n**2
    scale = max(float(value), np.sqrt(np.sqrt(variance)) / np.sqrt(2))
    return Estimate(value=float(value), sd=float(np.sqrt(variance) / (2 * scale)) if scale else 0.0)


def _width(path: Path, at: Ints, start_s: float, end_s: float) -> Estimate:
    """Extent across the heading at the start, between two places of the path."""
    times = np.linspace(start_s, end_s, max(8 * len(at), 16))
    x, y = _curved(path, times)
    heading = float(np.interp(start_s, path.t_s, path.heading_rad))
    across = -x * np.sin(heading) + y * np.cos(heading)
    low, high = times[int(np.argmin(across))], times[int(np.argmax(across))]
    normal = np.array([-np.sin(heading), np.cos(heading)])
    epochs, row = _between_row(path, float(low), float(high), normal)
    return _estimate(float(np.ptp(across)), _through(row, path.posterior.covariance(epochs)))


def _curved(path: Path, times: Floats) -> tuple[Floats, Floats]:
    """Places between epochs along cubic pieces that keep each epoch's velocity."""
    step = float(path.t_s[1] - path.t_s[0])
    place = np.clip((times - path.t_s[0]) / step, 0, len(path.t_s) - 1.0001)
    k = place.astype(np.int64)
    s = place - k
    out = []
    for values, along in ((path.x_m, np.cos), (path.y_m, np.sin)):
        pace = step * path.speed_ms * along(path.heading_rad)
        out.append(
            (1 - 3 * s**2 + 2 * s**3) * values[k]
            + (3 * s**2 - 2 * s**3) * values[k + 1]
            + (s - 2 * s**2 + s**3) * pace[k]
            + (s**3 - s**2) * pace[k + 1]
        )
    return out[0], out[1]


def _between_row(path: Path, low_s: float, high_s: float, normal: Floats) -> tuple[Ints, Floats]:
    """Epochs and weights whose sum is the distance between the path at two times along a normal."""
    weights: dict[int, float] = {}
    step = float(path.t_s[1] - path.t_s[0])
    for time, sign in ((low_s, -1.0), (high_s, 1.0)):
        place = float(np.clip((time - path.t_s[0]) / step, 0, len(path.t_s) - 1.0001))
        k = int(place)
        for epoch, share in ((k, 1 - (place - k)), (k + 1, place - k)):
            weights[epoch] = weights.get(epoch, 0.0) + sign * share
    epochs = np.array(sorted(weights), dtype=np.int64)
    row = np.concatenate([weights[int(epoch)] * normal for epoch in epochs])
    return epochs, row
