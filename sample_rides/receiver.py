"""What the positioning receiver reports: a smoothed, drifting, now and then frozen path.

Sizes after open recordings of phones [measured]: repeats of one path differ by a constant of
0.4-2.2 m per axis and a wander of 0.6-0.8 m, fix-to-fix jitter is 0.05-0.1 m, the reported
accuracy stays at 3.8-4.8 m; a still phone repeats 89-96 % of its positions; the first 1-6 fixes
can be up to 155 m off with a reported accuracy of 55-180 m or no speed.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.random import Generator
from scipy.interpolate import CubicSpline
from scipy.signal import lfilter

from sample_rides.ridden import RiddenLine
from sample_rides.scenario import NoiseGrade, Scenario
from sample_rides.schedule import RATE_HZ, Timeline
from track.geodesy import LocalPlane
from track.path import Bools, Floats, Ints


@dataclass(frozen=True, slots=True, kw_only=True)
class Grade:
    """Size of the position noise, per axis.

    Attributes
    ----------
    offset_m : float, m
        Standard deviation of the constant error of a ride.
    wander_m, wander_s : float
        Standard deviation and time constant of the slow error.
    softened_s : float, s
        The slow error is smooth over this time.
    jitter_m : float, m
        White noise from fix to fix.
    speed_ms : float, m/s
        White noise of speed, and of velocity across the course.
    """

    offset_m: float
    wander_m: float
    wander_s: float
    softened_s: float
    jitter_m: float
    speed_ms: float


GRADES: Final[dict[NoiseGrade, Grade]] = {
    "none": Grade(
        offset_m=0.0, wander_m=0.0, wander_s=60.0, softened_s=0.0, jitter_m=0.0, speed_ms=0.0
    ),
    "good": Grade(
        offset_m=0.5, wander_m=0.4, wander_s=90.0, softened_s=5.0, jitter_m=0.05, speed_ms=0.10
    ),
    "typical": Grade(
        offset_m=1.2, wander_m=0.7, wander_s=90.0, softened_s=5.0, jitter_m=0.08, speed_ms=0.15
    ),
    "poor": Grade(
        offset_m=2.2, wander_m=1.2, wander_s=60.0, softened_s=4.0, jitter_m=0.15, speed_ms=0.30
    ),
    "bound_table": Grade(
        offset_m=0.0, wander_m=2.0, wander_s=60.0, softened_s=0.0, jitter_m=0.5, speed_ms=0.20
    ),
}
"""``bound_table`` is the noise of the accuracy targets: slow error 2 m over 60 s, white 0.5 m,
speed 0.2 m/s at 1 Hz."""

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


def receive(line: RiddenLine, timeline: Timeline, scenario: Scenario, rng: Generator) -> FixLog:
    """Log positions along the ride."""
    grade = GRADES[scenario.noise]
    t_s = _stamps(timeline, scenario, rng)
    x_m, y_m, vx_ms, vy_ms = _smoothed(line, timeline, t_s, scenario)
    x_m += _position_error(len(t_s), scenario.fix_interval_s, grade, rng)
    y_m += _position_error(len(t_s), scenario.fix_interval_s, grade, rng)
    vx_ms += grade.speed_ms * rng.standard_normal(len(t_s))
    vy_ms += grade.speed_ms * rng.standard_normal(len(t_s))
    accuracy_m = rng.uniform(3.8, 4.8, len(t_s))
    wild = _throw_wild(x_m, y_m, accuracy_m, scenario, rng)
    frozen = _freeze(t_s, timeline, wild, scenario, rng)
    held = np.maximum.accumulate(np.where(frozen, 0, np.arange(len(t_s))))
    x_m, y_m, accuracy_m = x_m[held], y_m[held], accuracy_m[held]
    speed_ms = np.asarray(scenario.speed_scale * np.hypot(vx_ms, vy_ms), dtype=np.float64)
    speed_ms[frozen] = 0.0
    course_deg = (scenario.bearing_deg + np.degrees(np.arctan2(vx_ms, vy_ms))) % 360.0
    speed_ms[:1] = np.nan
    course_deg[frozen | np.isnan(speed_ms)] = np.nan
    if not scenario.speed_and_course:
        speed_ms[:] = np.nan
    if not (scenario.speed_and_course and scenario.course):
        course_deg[:] = np.nan
    lat_deg, lon_deg = _to_earth(x_m, y_m, scenario)
    keep, segment = _gaps(t_s, scenario, rng)
    return FixLog(
        t_s=t_s[keep],
        lat_deg=np.round(lat_deg, 7)[keep],
        lon_deg=np.round(lon_deg, 7)[keep],
        accuracy_m=np.round(accuracy_m, 2)[keep],
        speed_ms=speed_ms.round(2)[keep],
        course_deg=np.round(course_deg, 1)[keep] % 360.0,
        segment=segment[keep],
        frozen=frozen[keep],
        wild=wild[keep],
    )


def _stamps(timeline: Timeline, scenario: Scenario, rng: Generator) -> Floats:
    """Whole seconds, or what the interval makes of them; the last ones may lie past the motion."""
    first_s = float(np.ceil(scenario.fixes_start_s + 3.0 * rng.random()))
    return np.arange(first_s, timeline.t_s[-1], scenario.fix_interval_s)


def _smoothed(
    line: RiddenLine, timeline: Timeline, t_s: Floats, scenario: Scenario
) -> tuple[Floats, Floats, Floats, Floats]:
    """Place and velocity at the stamps, late by the delay and smoothed by the first-order lag."""
    at_s = t_s - scenario.receiver_delay_s
    found = []
    for values in (line.x_m, line.y_m):
        true_m = CubicSpline(line.s_m, values)(timeline.s_m)
        if scenario.receiver_lag_s > 0.0:
            keep = float(np.exp(-1.0 / (RATE_HZ * scenario.receiver_lag_s)))
            true_m, _ = lfilter([1.0 - keep], [1.0, -keep], true_m, zi=[keep * true_m[0]])
        velocity_ms = np.gradient(true_m) * RATE_HZ
        found.append(
            (np.interp(at_s, timeline.t_s, true_m), np.interp(at_s, timeline.t_s, velocity_ms))
        )
    (x_m, vx_ms), (y_m, vy_ms) = found
    return x_m, y_m, vx_ms, vy_ms


def _position_error(count: int, interval_s: float, grade: Grade, rng: Generator) -> Floats:
    """A constant, a first-order Gauss-Markov wander softened over some seconds, and jitter."""
    margin = 200
    keep = float(np.exp(-interval_s / grade.wander_s))
    push = rng.standard_normal(count + margin) * np.sqrt(1.0 - keep**2)
    push[0] = rng.standard_normal()
    wander = lfilter([1.0], [1.0, -keep], push)
    if grade.softened_s > 0.0:
        soft = float(np.exp(-interval_s / grade.softened_s))
        wander = lfilter([1.0 - soft], [1.0, -soft], wander)
        wander *= np.sqrt(1.0 + grade.softened_s / grade.wander_s)
    error_m = grade.offset_m * rng.standard_normal() + grade.wander_m * wander[margin:]
    return np.asarray(error_m + grade.jitter_m * rng.standard_normal(count))


def _throw_wild(
    x_m: Floats, y_m: Floats, accuracy_m: Floats, scenario: Scenario, rng: Generator
) -> Bools:
    """Fixes before the receiver has settled, and single ones thrown off later."""
    wild = rng.random(len(x_m)) < scenario.wild_share
    first = min(scenario.wild_first_fixes, len(x_m) // 2)
    wild[:first] = True
    index = np.flatnonzero(wild)
    off_m = np.where(
        index < first, rng.uniform(15.0, 155.0, len(index)), rng.uniform(6.0, 25.0, len(index))
    )
    direction = rng.uniform(0.0, 2.0 * np.pi, len(index))
    x_m[index] += off_m * np.cos(direction)
    y_m[index] += off_m * np.sin(direction)
    accuracy_m[:first] = rng.uniform(55.0, 180.0, first)
    return wild


def _freeze(
    t_s: Floats, timeline: Timeline, wild: Bools, scenario: Scenario, rng: Generator
) -> Bools:
    """A still phone repeats its position; it jumps to the present one when it moves off."""
    moving = timeline.speed_ms > STILL_SPEED_MS
    last_moving_s = np.maximum.accumulate(np.where(moving, timeline.t_s, -1.0))
    since_s = np.interp(t_s, timeline.t_s, timeline.t_s - last_moving_s)
    frozen = (since_s > STILL_AFTER_S) & (rng.random(len(t_s)) < FROZEN_SHARE)
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
