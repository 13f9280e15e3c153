"""Position noise: a constant, a slow wander, jitter; in grades.

Sizes after open recordings of phones [measured]: repeats of one path differ by a constant of
0.4-2.2 m per axis and a wander of 0.6-0.8 m, fix-to-fix jitter is 0.05-0.1 m.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.random import Generator
from scipy.signal import lfilter

from sample_rides.scenario import NoiseGrade
from track.path import Floats


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


def position_error(count: int, interval_s: float, grade: Grade, rng: Generator) -> Floats:
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
