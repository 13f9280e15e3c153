"""The gyroscope against the turn of the path: settles its unit and which way is up.

A left turn seen from above is positive about 'up' (right-hand rule). Were the accelerometer's sign
the other way round, 'up' would be down and every left turn a right one.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from ingest.streams import Bools, Floats, Positions
from ingest.tilt import Slope

GRID_S: Final = 0.5
HALF_S: Final = 1.0
"""Velocity and turn are differences over plus and minus this."""
MOVING_MS: Final = 0.8
GAP_S: Final = 3.5
LAG_S: Final = 30.0
"""Clocks that share an epoch differ by less."""
LEAST_S: Final = 40.0
"""Least time that must be compared."""
SURE: Final = 0.5
BEHIND: Final = 0.8
"""A likeness that settles the matter is above SURE, and the opposite's best below BEHIND of it."""
_M_PER_DEG: Final = 111_320.0


@dataclass(frozen=True, slots=True, kw_only=True)
class TurnMatch:
    """How the gyroscope's turn about 'up' follows the turn of the path.

    Attributes
    ----------
    slope : Slope
        Gyroscope over path, in the gyroscope's unit, negative when they turn opposite ways.
    settled : bool
        True when the opposite sign is clearly worse.
    """

    slope: Slope
    settled: bool


def _path_turn(positions: Positions, grid_s: Floats) -> tuple[Floats, Bools]:
    """Turn rate of the path, rad/s, left positive, and where it can be told."""
    t_s = positions.t_s
    north = np.interp(grid_s, t_s, positions.lat_deg) * _M_PER_DEG
    scale = _M_PER_DEG * np.cos(np.radians(float(np.median(positions.lat_deg))))
    east = np.interp(grid_s, t_s, positions.lon_deg) * scale
    steps = round(HALF_S / GRID_S)
    vx, vy = _centred(east, steps), _centred(north, steps)
    speed = np.hypot(vx, vy) / (2 * HALF_S)
    turn = _centred(np.unwrap(np.arctan2(vy, vx)), steps) / (2 * HALF_S)
    after = np.clip(np.searchsorted(t_s, grid_s), 1, len(t_s) - 1)
    near = (t_s[after] - t_s[after - 1]) < GAP_S
    usable = near & (speed > MOVING_MS) & (speed < 25.0)
    return turn, _eroded(usable, 2 * steps)


def _centred(values: Floats, steps: int) -> Floats:
    padded = np.pad(values, steps, mode="edge")
    difference: Floats = padded[2 * steps :] - padded[: -2 * steps]
    return difference


def _eroded(usable: Bools, steps: int) -> Bools:
    """True where everything within ``steps`` is usable, and away from the ends."""
    window = np.ones(2 * steps + 1)
    count = np.convolve(np.pad(usable.astype(float), steps), window, mode="valid")
    eroded: Bools = count > 2 * steps + 0.5
    return eroded


def _gyro_turn(t_s: Floats, accel: Floats, gyro: Floats, grid_s: Floats) -> tuple[Floats, Bools]:
    """Turn about the slow direction of the accelerometer, averaged as the path's is."""
    edges = np.searchsorted(t_s, np.append(grid_s, grid_s[-1] + GRID_S) - GRID_S / 2)
    count = np.diff(edges)
    sums = np.add.reduceat(
        np.vstack([np.column_stack([accel, gyro]), np.zeros((1, 6))]),
        np.minimum(edges[:-1], len(t_s)),
        axis=0,
    )
    mean = np.where(count[:, None] > 0, sums / np.maximum(count, 1)[:, None], 0.0)
    wide = np.ones(5) / 5
    slow = np.column_stack([np.convolve(mean[:, k], wide, mode="same") for k in range(3)])
    up = slow / np.maximum(np.linalg.norm(slow, axis=1), 1e-9)[:, None]
    turn = (up * mean[:, 3:]).sum(axis=1)
    smooth = np.array([0.125, 0.25, 0.25, 0.25, 0.125])  # the path's own two differences
    return np.convolve(turn, smooth, mode="same"), _eroded(count > 0, 2)


def _correlated(a: Floats, b: Floats) -> Floats:
    """Sums of ``a[i] * b[i + k]`` for k from ``-(n - 1)`` to ``n - 1``."""
    size = 1 << (len(a) + len(b)).bit_length()
    spectrum = np.conj(np.fft.rfft(a, size)) * np.fft.rfft(b, size)
    raw = np.fft.irfft(spectrum, size)
    return np.concatenate([raw[size - len(a) + 1 :], raw[: len(b)]])


def turn_match(
    positions: Positions, t_s: Floats, accel: Floats, gyro: Floats, *, shared: bool
) -> TurnMatch | None:
    """Lay the gyroscope's turn over the path's at the shift that suits best.

    Parameters
    ----------
    positions : Positions
    t_s : array, shape (n,), s
        On the positions' clock when ``shared``.
    accel : array, shape (n, 3)
        With gravity, in any unit.
    gyro : array, shape (n, 3)
        In any unit.
    shared : bool
        True when the clocks differ by seconds only; else any shift is tried.

    Returns
    -------
    TurnMatch or None
        None where too little can be compared.
    """
    if len(positions.t_s) < 30 or len(t_s) < 100:
        return None
    path_s = np.arange(positions.t_s[0], min(positions.t_s[-1], positions.t_s[0] + 4e4), GRID_S)
    start = path_s[0] + np.floor((t_s[0] - path_s[0]) / GRID_S) * GRID_S if shared else t_s[0]
    motion_s = np.arange(start, min(t_s[-1], start + 4e4), GRID_S)
    if min(len(path_s), len(motion_s)) < LEAST_S / GRID_S:
        return None
    path, moving = _path_turn(positions, path_s)
    turn, logged = _gyro_turn(t_s, accel, gyro, motion_s)
    path = np.where(moving, path, 0.0)
    turn = np.where(logged, turn, 0.0)
    seen = _correlated(moving.astype(float), logged.astype(float))
    both = _correlated(path, turn)
    path_power = _correlated(path**2, logged.astype(float))
    turn_power = _correlated(moving.astype(float), turn**2)
    enough = seen > max(LEAST_S / GRID_S, 0.3 * seen.max() if not shared else 0.0)
    if shared:
        lag_s = (np.arange(len(seen)) - (len(path) - 1)) * GRID_S + (motion_s[0] - path_s[0])
        enough &= np.abs(lag_s) <= LAG_S
    if not enough.any():
        return None
    local = np.sqrt(np.maximum(path_power, 1e-12) * np.maximum(turn_power, 1e-12))
    # Over all that turned, not only where they overlap: a short overlap fits by chance.
    overall = np.where(enough, both, 0.0) / max(
        float(np.sqrt((path**2).sum() * (turn**2).sum())), 1e-12
    )
    best = int(np.argmax(np.abs(overall)))
    value = float(both[best] / max(path_power[best], 1e-12))
    likeness = abs(float(both[best] / local[best]))
    opposite = float(np.max(-np.sign(overall[best]) * overall)) / max(abs(overall[best]), 1e-12)
    return TurnMatch(
        slope=Slope(value=value, sd=abs(value) * 0.2, correlation=likeness),
        settled=likeness > SURE and opposite < BEHIND,
    )
