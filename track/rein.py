"""Which way the ride bends: left, right or straight, epoch by epoch.

On circles, loops and corners the rein is the way the path turns; on straight stretches, the long
sides of the track among them, it is "straight": what a straight side says of a horse it says
alike on either rein, and the way it is ridden round the school shows in the corners.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from scipy.ndimage import gaussian_filter1d, label

from track.motion import Motion
from track.path import Floats, Ints, Path

Bend = Literal["left", "right", "straight"]

STEP_M: Final = 0.25
SMOOTH_M: Final = 1.0
_SLOWEST_MS: Final = 0.4
BEND_1M: Final = 1 / 17.0
"""Sharper than this it is a bend (a 20 m circle at the rider's body is about 1 / 9.2)."""
STRAIGHT_1M: Final = 1 / 28.0
"""And it lasts until it is flatter than this."""
LEAST_BEND_RAD: Final = np.radians(25.0)
CHANGE_RAD: Final = np.radians(60.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Bends:
    """Curvature by distance ridden.

    Attributes
    ----------
    s_m : array, shape (n,), m
        Evenly spaced by :data:`STEP_M`.
    t_s : array, shape (n,), s
    curvature_1m : array, shape (n,), 1/m
        Left positive, smoothed over a metre.
    """

    s_m: Floats
    t_s: Floats
    curvature_1m: Floats


def bends_of(path: Path, motion: Motion | None = None) -> Bends | None:
    """Curvature of a path by distance; None for a path shorter than a few metres.

    Parameters
    ----------
    path : Path
    motion : Motion, optional
        On the positions' clock. Its gyroscope shows where a bend begins more sharply than the
        path's epochs of half a second; what the two differ by slowly is its bias and taken off.
    """
    t_s = np.linspace(path.t_s[0], path.t_s[-1], 10 * max(len(path.t_s), 2))
    speed = np.maximum(np.interp(t_s, path.t_s, path.speed_ms), 0.0)
    turn = np.interp(t_s, path.t_s, path.turn_rads)
    if motion is not None and motion.has_gyro:
        turn = _sharpened(t_s, turn, motion)
    gone = np.concatenate([[0.0], np.cumsum((speed[1:] + speed[:-1]) / 2 * np.diff(t_s))])
    if gone[-1] < 8 * STEP_M:
        return None
    turned = np.concatenate([[0.0], np.cumsum((turn[1:] + turn[:-1]) / 2 * np.diff(t_s))])
    going = np.concatenate([[True], np.diff(gone) > 1e-4])
    s_m = np.arange(0.0, gone[-1], STEP_M)
    heading = np.interp(s_m, gone[going], turned[going])
    curvature = gaussian_filter1d(heading, SMOOTH_M / STEP_M, order=1) / STEP_M
    return Bends(
        s_m=s_m, t_s=np.interp(s_m, gone[going], t_s[going]), curvature_1m=np.asarray(curvature)
    )


def _sharpened(t_s: Floats, turn: Floats, motion: Motion) -> Floats:
    known = motion.valid & np.isfinite(motion.turn_rads)
    if known.sum() < 2:
        return turn
    sharp = np.interp(t_s, motion.t_s[known], motion.turn_rads[known])
    nearest = np.clip(np.searchsorted(motion.t_s, t_s), 0, len(motion.t_s) - 1)
    covered = known[nearest] & (t_s >= motion.t_s[0]) & (t_s <= motion.t_s[-1])
    rate = 1 / float(t_s[1] - t_s[0])
    bias = gaussian_filter1d(np.where(covered, sharp - turn, 0.0), 15 * rate)
    share = gaussian_filter1d(covered.astype(np.float64), 15 * rate)
    return np.where(covered, sharp - bias / np.maximum(share, 0.05), turn)


def rein_of(path: Path, motion: Motion | None = None) -> tuple[Bend, ...]:
    """Rein at every epoch of a path.

    Returns
    -------
    tuple of {"left", "right", "straight"}
        One per epoch of ``path``.
    """
    bends = bends_of(path, motion)
    if bends is None:
        return tuple(_word(0) for _ in path.t_s)
    signs = _signs(bends.curvature_1m)
    nearest = np.clip(np.searchsorted(bends.t_s, path.t_s), 0, len(signs) - 1)
    standing = path.speed_ms < _SLOWEST_MS
    return tuple(_word(sign) for sign in np.where(standing, 0, signs[nearest]).tolist())


def _word(sign: int) -> Bend:
    if sign == 0:
        return "straight"
    return "left" if sign > 0 else "right"


def _signs(curvature: Floats) -> Ints:
    """+1, -1 or 0; a bend starts sharp, lasts while not flat, and turns by 25 degrees at least."""
    signs = np.zeros(len(curvature), dtype=np.int64)
    for sign in (1, -1):
        runs, count = label(sign * curvature > STRAIGHT_1M)
        if count == 0:
            continue
        index = np.arange(1, count + 1)
        turned = np.bincount(runs, weights=sign * curvature * STEP_M, minlength=count + 1)[1:]
        sharp = np.bincount(runs, weights=sign * curvature > BEND_1M, minlength=count + 1)[1:] > 0
        signs[np.isin(runs, index[sharp & (turned > LEAST_BEND_RAD)])] = sign
    return signs


def changes_of_rein(path: Path, motion: Motion | None = None) -> int:
    """How often the ride went over to the other rein: bends of 60 degrees or more that differ."""
    bends = bends_of(path, motion)
    if bends is None:
        return 0
    signs = _signs(bends.curvature_1m)
    edges = np.flatnonzero(np.diff(signs, prepend=0, append=0))
    heading = np.concatenate([[0.0], np.cumsum(bends.curvature_1m)]) * STEP_M
    turned = np.diff(heading[edges])
    real = turned[np.abs(turned) > CHANGE_RAD]
    return int(np.sum(np.sign(real[1:]) != np.sign(real[:-1])))
