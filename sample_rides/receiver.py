"""What the positioning receiver reports: a smoothed, drifting, now and then frozen path.

Sizes after open recordings of phones [measured]: the reported accuracy stays at 3.8-4.8 m; a still
phone repeats 89-96 % of its positions; the first 1-6 fixes can be up to 155 m off with a reported
accuracy of 55-180 m or no speed.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.random import Generator
from scipy.interpolate import CubicSpline
from scipy.signal import lfilter

from sample_rides.noise import GRADES, position_error
from sample_rides.ridden import RiddenLine
from sample_rides.scenario import Scenario
from sample_rides.schedule import RATE_HZ, Timeline
from track.geodesy import LocalPlane
from track.path import Bools, Floats, Ints

FROZEN_SHARE: Final = 0.93
STILL_SPEED_MS: Final = 0.15
STILL_AFTER_S: Final = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class FixLog:
    """What the receiver logged.

    Attributes
    ----------
    t_s : array, shape (n,), s
        Stamps on the simulation's clock (the receiver's delay included).
    lat_deg, lon_deg : array, shape (n,), degrees
    accuracy_m, speed_ms, course_deg : array, shape (n,)
        NaN where not reported.
    segment : array of int, shape (n,)
    frozen, wild : array of bool, shape (n,)
        Which fixes repeat the last one, and which are far off.
    """

    t_s: Floats
    lat_deg: Floats
    lon_deg: Floats
    accuracy_m: Floats
    speed_ms: Floats
    course_deg: Floats
    segment: Ints
    frozen: Bools
    wild: Bools


@dataclass(frozen=True, slots=True, kw_only=True)
class _Followed:
    """What the receiver's filter makes of the true path, at the stamps, before any noise."""

    place_m: Floats
    velocity_ms: Floats
    still_s: Floats


def receive(line: RiddenLine, timeline: Timeline, scenario: Scenario, rng: Generator) -> FixLog:
    """Log positions along the ride."""
    grade = GRADES[scenario.noise]
    t_s = _stamps(timeline, scenario, rng)
    count = len(t_s)
    followed = _follow(line, timeline, t_s - scenario.receiver_delay_s, scenario)
    errors = [position_error(count, scenario.fix_interval_s, grade, rng) for _ in range(2)]
    place_m = followed.place_m + np.stack(errors)
    velocity_ms = followed.velocity_ms + grade.speed_ms * rng.standard_normal((2, count))
    accuracy_m = rng.uniform(3.8, 4.8, count)
    wild = _throw_wild(place_m, accuracy_m, scenario, rng)
    frozen = _freeze(followed.still_s, wild, scenario, rng)
    held = np.maximum.accumulate(np.where(frozen, 0, np.arange(count)))
    lat_deg, lon_deg = _to_earth(place_m[0, held], place_m[1, held], scenario)
    speed_ms, course_deg = _speed_and_course(velocity_ms, frozen, scenario)
    keep, segment = _gaps(t_s, scenario, rng)
    return FixLog(
        t_s=t_s[keep],
        lat_deg=lat_deg.round(7)[keep],
        lon_deg=lon_deg.round(7)[keep],
        accuracy_m=accuracy_m[held].round(2)[keep],
        speed_ms=speed_ms.round(2)[keep],
        course_deg=course_deg.round(1)[keep] % 360.0,
        segment=segment[keep],
        frozen=frozen[keep],
        wild=wild[keep],
    )


def _stamps(timeline: Timeline, scenario: Scenario, rng: Generator) -> Floats:
    """Whole seconds, or what the interval makes of them."""
    first_s = float(np.ceil(scenario.fixes_start_s + 3.0 * rng.random()))
    return np.arange(first_s, timeline.t_s[-1], scenario.fix_interval_s)


def _follow(line: RiddenLine, timeline: Timeline, at_s: Floats, scenario: Scenario) -> _Followed:
    """Place, velocity and time standing still, smoothed by the first-order lag."""
    true_m = CubicSpline(line.s_m, np.stack([line.x_m, line.y_m]), axis=1)(timeline.s_m)
    if scenario.receiver_lag_s > 0.0:
        keep = float(np.exp(-1.0 / (RATE_HZ * scenario.receiver_lag_s)))
        first = keep * true_m[:, :1]
        true_m, _ = lfilter([1.0 - keep], [1.0, -keep], true_m, axis=1, zi=first)
    velocity_ms = np.gradient(true_m, axis=1) * RATE_HZ
    moving = np.hypot(*velocity_ms) > STILL_SPEED_MS
    last_moving_s = np.maximum.accumulate(np.where(moving, timeline.t_s, -np.inf))

    def at(values: Floats) -> Floats:
        return np.asarray(np.interp(at_s, timeline.t_s, values))

    return _Followed(
        place_m=np.stack([at(axis) for axis in true_m]),
        velocity_ms=np.stack([at(axis) for axis in velocity_ms]),
        still_s=at(np.minimum(timeline.t_s - last_moving_s, 1e3)),
    )


def _speed_and_course(
    velocity_ms: Floats, frozen: Bools, scenario: Scenario
) -> tuple[Floats, Floats]:
    """As reported: 0 and no course while frozen, nothing with the first fix, or nothing at all."""
    vx_ms, vy_ms = velocity_ms
    speed_ms = np.asarray(scenario.speed_scale * np.hypot(vx_ms, vy_ms), dtype=np.float64)
    speed_ms[frozen] = 0.0
    course_deg = (scenario.bearing_deg + np.degrees(np.arctan2(vx_ms, vy_ms))) % 360.0
    first = np.arange(len(speed_ms)) == 0
    speed_ms[first | (not scenario.speed_and_course)] = np.nan
    course_deg[frozen | np.isnan(speed_ms) | (not scenario.course)] = np.nan
    return speed_ms, np.asarray(course_deg)


def _throw_wild(place_m: Floats, accuracy_m: Floats, scenario: Scenario, rng: Generator) -> Bools:
    """Fixes before the receiver has settled, and single ones thrown off later."""
    wild = rng.random(len(accuracy_m)) < scenario.wild_share
    first = min(scenario.wild_first_fixes, len(accuracy_m) // 2)
    wild[:first] = True
    index = np.flatnonzero(wild)
    off_m = np.where(
        index < first, rng.uniform(15.0, 155.0, len(index)), rng.uniform(6.0, 25.0, len(index))
    )
    direction = rng.uniform(0.0, 2.0 * np.pi, len(index))
    place_m[:, index] += off_m * np.stack([np.cos(direction), np.sin(direction)])
    accuracy_m[:first] = rng.uniform(55.0, 180.0, first)
    return wild


def _freeze(still_s: Floats, wild: Bools, scenario: Scenario, rng: Generator) -> Bools:
    """A still phone repeats its position; it jumps to the present one when it moves off."""
    frozen = (still_s > STILL_AFTER_S) & (rng.random(len(still_s)) < FROZEN_SHARE)
    frozen &= ~wild & scenario.freezes
    frozen[:1] = False
    frozen[1:] &= ~wild[:-1]
    return np.asarray(frozen)


def _to_earth(x_m: Floats, y_m: Floats, scenario: Scenario) -> tuple[Floats, Floats]:
    """Arena metres to WGS84; the bearing turns clockwise from north to the arena's y axis."""
    bearing = np.radians(scenario.bearing_deg)
    plane = LocalPlane(lat_deg=scenario.lat_deg, lon_deg=scenario.lon_deg)
    east_m = x_m * np.cos(bearing) + y_m * np.sin(bearing)
    north_m = -x_m * np.sin(bearing) + y_m * np.cos(bearing)
    return plane.to_earth(east_m, north_m)


def _gaps(t_s: Floats, scenario: Scenario, rng: Generator) -> tuple[Bools, Ints]:
    """Lose the signal for 3 to 6 s at random; every other loss opens a new segment."""
    keep = np.ones(len(t_s), dtype=bool)
    segment = np.zeros(len(t_s), dtype=np.int64)
    for number in range(scenario.gaps):
        start_s = rng.uniform(t_s[0] + 20.0, t_s[-1] - 20.0)
        end_s = start_s + rng.uniform(3.0, 6.0)
        keep &= (t_s < start_s) | (t_s >= end_s)
        if number % 2 == 0:
            segment[t_s >= end_s] += 1
    return keep, segment
