"""Straights of a path: how far they stray, wobble and lie beside where they should."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from track.path import Estimate, Floats, Path
from track.shapes_fit import fit_line
from track.stretch import estimate_of, measured, stretch_of

LEAST_SPEED_MS: Final = 0.6
"""Slower than this a horse as good as stands."""


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
        direction_rad=estimate_of(
            float(fit.direction_rad), stretch.variance(along @ normal / float(along @ along))
        ),
        wander_m=measured(stretch, rms_from_line_m),
        heading_wobble_rad=measured(
            stretch, lambda x_m, y_m: heading_wobble_rad(x_m[:, moving], y_m[:, moving])
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
    stretch = stretch_of(path, start_s, end_s)
    normal = np.array([-np.sin(direction_rad), np.cos(direction_rad)])
    off = (stretch.x_m - point_m[0]) * normal[0] + (stretch.y_m - point_m[1]) * normal[1]
    return estimate_of(float(off.mean()), stretch.variance(np.tile(normal, off.size) / off.size))


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
