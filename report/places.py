"""Where along the ridden line something happened: passings of letters and distances from them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from track.path import Estimate, Floats, Path

REACH_M: Final = 18.0
"""A passing is looked for this far along the ridden line either side of where it is expected:
less than half the way round a 15 m circle, so that its other end is not taken for it."""
SPREAD_STEP_M: Final = 0.2
"""How far a step of speed moves the place at its middle when it is spread over some seconds
[measured on made-up rides: 0.2 m ahead from walk to trot, as far behind from trot to walk]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Passing:
    """The ridden line's nearest approach to a place.

    Attributes
    ----------
    t_s : float, s
    s_m : float, m
        Along the ridden line, on the scale of :func:`distance_m`.
    heading_rad : float, rad
        Of the line there.
    miss_m : float, m
        How far the line stayed from it.
    """

    t_s: float
    s_m: float
    heading_rad: float
    miss_m: float


def distance_m(path: Path) -> Floats:
    """Distance ridden at each epoch, metres: the integral of the speed along the path."""
    steps = np.diff(path.t_s) * (path.speed_ms[1:] + path.speed_ms[:-1]) / 2
    return np.concatenate([[0.0], np.cumsum(steps)])


def distance_at(path: Path, t_s: float) -> float:
    """Distance ridden at any time, metres."""
    return float(np.interp(t_s, path.t_s, distance_m(path)))


def heading_at(path: Path, t_s: float) -> float:
    """Heading at any time, rad."""
    return float(np.interp(t_s, path.t_s, path.heading_rad))


def speed_at(path: Path, t_s: float) -> float:
    """Speed at any time, m/s."""
    return float(np.interp(t_s, path.t_s, path.speed_ms))


def sd_along_m(path: Path, t_s: float, heading_rad: float) -> float:
    """Doubt along a direction of where the body was at an instant of the motion log, metres.

    What happens in the motion, the start of a gait or a halt, is known at such an instant.
    """
    nearest = int(np.argmin(np.abs(path.t_s - t_s)))
    posterior = path.at_instants or path.posterior
    cov = posterior.covariance(np.array([nearest], dtype=np.int64))
    ahead = np.array([np.cos(heading_rad), np.sin(heading_rad)])
    return float(np.sqrt(max(0.0, ahead @ cov @ ahead)))


def passing(path: Path, place: tuple[float, float], around_s: float) -> Passing:
    """Find the ridden line's nearest approach to a place.

    Parameters
    ----------
    path : Path
    place : (float, float), m
        In the frame of the path.
    around_s : float, s
        Where the passing is expected; it is looked for within :data:`REACH_M` of it.
    """
    s_m = distance_m(path)
    middle = float(np.interp(around_s, path.t_s, s_m))
    inside = np.flatnonzero(np.abs(s_m - middle) <= REACH_M)
    first, last = int(inside[0]), int(inside[-1])
    segment, fraction, miss = _nearest_on_segments(path, place, first, last)
    t_s = _between(path.t_s, segment, fraction)
    return Passing(
        t_s=t_s,
        s_m=_between(s_m, segment, fraction),
        heading_rad=heading_at(path, t_s),
        miss_m=miss,
    )


def _between(values: Floats, segment: int, fraction: float) -> float:
    if fraction <= 0.0:
        return float(values[segment])
    return float(values[segment] + fraction * (values[segment + 1] - values[segment]))


def _nearest_on_segments(
    path: Path, place: tuple[float, float], first: int, last: int
) -> tuple[int, float, float]:
    if last <= first:
        miss = np.hypot(path.x_m[first] - place[0], path.y_m[first] - place[1])
        return first, 0.0, float(miss)
    points = np.column_stack([path.x_m, path.y_m])[first : last + 1]
    steps, to_place = np.diff(points, axis=0), np.asarray(place) - points[:-1]
    length2 = np.maximum((steps**2).sum(axis=1), 1e-12)
    fraction = np.clip((steps * to_place).sum(axis=1) / length2, 0.0, 1.0)
    miss = np.hypot(*(to_place - fraction[:, None] * steps).T)
    best = int(np.argmin(miss))
    return first + best, float(fraction[best]), float(miss[best])


def place_along(path: Path, instant: Estimate, letter: Passing) -> Estimate:
    """Signed distance along the ridden line from a letter's passing to an instant, metres.

    Negative before the letter. The doubt joins that of the instant (times the speed) and that of
    where the body was at it along the line's direction at the letter: a line that lies too far
    ahead is past the letter too soon by as much. How the speed was changed about the instant adds
    its own: the path spreads a step of speed over some seconds.
    """
    value = distance_at(path, instant.value) - letter.s_m
    near = path.between(instant.value - 1.0, instant.value + 1.0)
    speed = float(path.speed_ms[near].mean()) if near.size else speed_at(path, instant.value)
    place = sd_along_m(path, instant.value, letter.heading_rad)
    return Estimate(
        value=value, sd=float(np.hypot(speed * instant.sd, np.hypot(place, SPREAD_STEP_M)))
    )


def ahead_of(path: Path, t_s: float, place: tuple[float, float], heading_rad: float) -> Estimate:
    """Signed distance of a point of the path beyond a place, along a heading, metres."""
    x_m, y_m = path.at(t_s)
    value = (float(x_m) - place[0]) * np.cos(heading_rad) + (float(y_m) - place[1]) * np.sin(
        heading_rad
    )
    return Estimate(value=float(value), sd=sd_along_m(path, t_s, heading_rad))
