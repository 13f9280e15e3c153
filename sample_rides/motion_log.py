"""What the phone writes of its motion: samples with the faults of its sensors."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.random import Generator

from sample_rides.imperfections import smooth_noise
from sample_rides.phone import PhoneMotion
from sample_rides.scenario import Scenario
from sample_rides.schedule import RATE_HZ
from sample_rides.turning import from_vector, turned
from track.path import Bools, Floats

ACCEL_NOISE_MS2: Final = 0.03
ACCEL_STEP_MS2: Final = 0.0024
ACCEL_RANGE_MS2: Final = 8 * 9.80665
GYRO_NOISE_RADS: Final = 0.004
GYRO_STEP_RADS: Final = 0.0006


@dataclass(frozen=True, slots=True, kw_only=True)
class MotionLog:
    """What the phone logged.

    Attributes
    ----------
    t_s : array, shape (n,), s
        True instants of the samples on the simulation's clock.
    accel_ms2 : array, shape (n, 3), m/s²
    gyro_rads : array, shape (n, 3), rad/s
        NaN without a gyroscope.
    """

    t_s: Floats
    accel_ms2: Floats
    gyro_rads: Floats


def log_motion(phone: PhoneMotion, scenario: Scenario, rng: Generator) -> MotionLog:
    """Sample the phone's motion with the faults of its sensors."""
    quiet = 0.0 if scenario.noise == "none" else 1.0
    rate_hz = scenario.motion_rate_hz * (1.0 + quiet * rng.uniform(-0.004, 0.004))
    t_s = np.arange(0.01 + scenario.motion_start_s, phone.t_s[-1] - 0.01, 1.0 / rate_hz)
    t_s = t_s + quiet * np.clip(rng.normal(0.0, 0.0004, len(t_s)), -0.0015, 0.0015)
    t_s = t_s[_logged(t_s, scenario.motion_gaps, rng)]
    force = phone.force_ms2
    if not scenario.gravity:
        count = force.shape[1]
        slant = [smooth_noise(count, 1 / RATE_HZ, 8.0, rng) for _ in range(3)]
        slant_rad = np.radians(quiet * 0.8) * np.array(slant)
        force = force - turned(from_vector(slant_rad), phone.gravity_ms2)
    bias_ms2 = quiet * rng.normal(0.0, 0.04, 3)
    accel = _sampled(phone.t_s, force, t_s) + bias_ms2
    accel += quiet * ACCEL_NOISE_MS2 * rng.standard_normal(accel.shape)
    accel = np.clip(accel, -ACCEL_RANGE_MS2, ACCEL_RANGE_MS2)
    gyro = _sampled(phone.t_s, phone.turn_rads, t_s - 0.5 / RATE_HZ) * scenario.gyro_scale
    gyro += np.asarray(scenario.gyro_bias_rads)
    gyro += quiet * GYRO_NOISE_RADS * rng.standard_normal(gyro.shape)
    if not scenario.gyro:
        gyro[:] = np.nan
    return MotionLog(
        t_s=t_s,
        accel_ms2=np.round(np.round(accel / ACCEL_STEP_MS2) * ACCEL_STEP_MS2, 4),
        gyro_rads=np.round(np.round(gyro / GYRO_STEP_RADS) * GYRO_STEP_RADS, 4),
    )


def _logged(t_s: Floats, gaps: int, rng: Generator) -> Bools:
    """False where the log drops out."""
    keep = np.ones(len(t_s), dtype=bool)
    for start_s in rng.uniform(t_s[0] + 10.0, t_s[-1] - 10.0, gaps):
        keep &= (t_s < start_s) | (t_s > start_s + rng.uniform(0.3, 2.0))
    return keep


def _sampled(t_s: Floats, values: Floats, at_s: Floats) -> Floats:
    return np.column_stack([np.interp(at_s, t_s, column) for column in values])
