"""Positions as a phone reports them: late, smoothed, drifting, jumping along one wall, frozen.

Sizes after measurements on open recordings: slow error 0.4-2.2 m per axis, jitter 0.05-0.1 m,
accuracy 3.8-4.8 m whatever happens, first fixes far off, fixes frozen when still.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from scipy.signal import lfilter

from ingest.columns import FIX_COLUMNS
from tests.second_model.truth import Floats

EQUATOR_M, FLATTENING = 6378137.0, 1 / 298.257223563


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where on the earth the arena lies."""

    lat_deg: float
    lon_deg: float
    bearing_deg: float


def to_degrees(place: Place, x_m: Floats, y_m: Floats) -> tuple[Floats, Floats]:
    """Arena metres to WGS84 degrees on the plane touching at X."""
    b = np.deg2rad(place.bearing_deg)
    east = x_m * np.cos(b) + y_m * np.sin(b)
    north = -x_m * np.sin(b) + y_m * np.cos(b)
    e2 = FLATTENING * (2 - FLATTENING)
    lat = np.deg2rad(place.lat_deg)
    root = 1 - e2 * np.sin(lat) ** 2
    meridian = EQUATOR_M * (1 - e2) / root**1.5
    across = EQUATOR_M / np.sqrt(root) * np.cos(lat)
    return place.lat_deg + np.rad2deg(north / meridian), place.lon_deg + np.rad2deg(east / across)


def _drift(rng: np.random.Generator, t_s: Floats) -> Floats:
    """Slow error of one axis: a few waves of minutes' length and a constant."""
    waves = sum(
        rng.standard_cauchy() * 0.25 * np.sin(2 * np.pi * (t_s / period + rng.random()))
        for period in rng.uniform(40, 300, 4)
    )
    return np.asarray(np.clip(waves, -2.0, 2.0) + rng.normal(0, 0.9))


def _wall_jump(rng: np.random.Generator, x_m: Floats) -> Floats:
    """Step of 1 to 3 m across the arena while close to one long side, with hysteresis."""
    side = rng.choice([-1.0, 1.0])
    size = rng.uniform(1.0, 3.0) * rng.choice([-1.0, 1.0])
    inside, steps = False, np.zeros_like(x_m)
    for i, near in enumerate((x_m * side).tolist()):
        inside = near > 7.0 if not inside else near > 3.0
        steps[i] = size if inside and rng.random() < 0.97 else 0.0
    return steps


def _low_pass(signal: Floats, rate_hz: float, lag_s: float) -> Floats:
    if lag_s < 1e-6:
        return signal
    a = np.exp(-1 / (rate_hz * lag_s))
    return np.asarray(lfilter([1 - a], [1, -a], signal - signal[0]) + signal[0])


def _stamps(rng: np.random.Generator, end_s: float) -> Floats:
    """Fix times: mostly every second, a little uneven, with a gap or two."""
    step = float(rng.choice([1.0, 1.0, 1.0, 0.5, 2.0]))
    t = np.arange(0.0, end_s, step)
    keep = np.ones(len(t), dtype=bool)
    for gap in rng.uniform(60, max(end_s - 20, 61), 2):
        keep &= ~((t > gap) & (t < gap + rng.uniform(2, 5)))
    keep[:3] = True
    return np.asarray(t[keep])


def fixes_table(
    rng: np.random.Generator,
    *,
    t_s: Floats,
    x_m: Floats,
    y_m: Floats,
    speed_ms: Floats,
    place: Place,
    lag_s: float,
    walls: bool,
) -> pd.DataFrame:
    """Position table with the columns of ``ingest.columns``."""
    rate = 1 / (t_s[1] - t_s[0])
    at = _stamps(rng, float(t_s[-1]))
    lagged = [_low_pass(v, rate, lag_s) for v in (x_m, y_m)]
    x, y = (np.interp(at, t_s, v) for v in lagged)
    velocity = [np.interp(at, t_s, np.gradient(v, 1 / rate)) for v in lagged]
    true_x, still = np.interp(at, t_s, x_m), np.interp(at, t_s, speed_ms) < 0.05
    error = np.column_stack([_drift(rng, at), _drift(rng, at)])
    if walls and rng.random() < 0.5:
        error[:, 0] += _wall_jump(rng, true_x)
    error += 0.05 * rng.standard_t(3, size=error.shape)
    error[:3] += rng.normal(0, [[40.0], [15.0], [3.0]], (3, 2))
    x, y = x + error[:, 0], y + error[:, 1]
    run = 0
    for i in range(1, len(at)):
        run = run + 1 if still[i] else 0
        if run >= 3 and rng.random() < 0.93:
            x[i], y[i] = x[i - 1], y[i - 1]
    lat, lon = to_degrees(place, x, y)
    accuracy = rng.uniform(3.8, 4.8, len(at))
    accuracy[:3] = (90.0, 55.0, 12.0)
    speed, course = _reported(rng, velocity, place)
    columns = (at, lat.round(7), lon.round(7), accuracy.round(2), speed, course, np.zeros(len(at)))
    return pd.DataFrame(dict(zip(FIX_COLUMNS, columns, strict=True)))


def _reported(
    rng: np.random.Generator, velocity: list[Floats], place: Place
) -> tuple[Floats, Floats]:
    """Speed and course columns, in half of the rides; they under-read a little."""
    nothing = np.full(len(velocity[0]), np.nan)
    if rng.random() < 0.5:
        return nothing, nothing
    noise = 0.12 * rng.standard_t(4, size=(2, len(nothing)))
    vx, vy = velocity[0] * 0.98 + noise[0], velocity[1] * 0.98 + noise[1]
    speed = np.hypot(vx, vy)
    course = (90.0 - np.rad2deg(np.arctan2(vy, vx)) + place.bearing_deg) % 360.0
    course = np.where(speed < 0.4, np.nan, course)
    return speed.round(2), course.round(1)
