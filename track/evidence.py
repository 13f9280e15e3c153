"""What the smoother is given: fixes, speeds, turns and stillness, laid on one row of epochs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from track.motion import Motion
from track.path import Bools, Floats, Ints

EPOCH_S: Final = 0.5
"""Length of an epoch: short against a corner (1.5 s in trot), long against a stride's sway."""

SOFTENED_S2: Final = 0.0144
"""Variance of the softening of the turn rate on top of its mean over one stride."""
USUAL_STRIDE_S: Final = 0.75
NO_STRIDE_S: Final = 1.0
SHARPEN_S: Final = 0.3


@dataclass(frozen=True, slots=True, kw_only=True)
class Fixes:
    """Positions on the plane, cleaned, each between two epochs.

    Attributes
    ----------
    epoch : array of int, shape (k,)
        Epoch at or before the fix.
    share : array, shape (k,)
        How far on towards the next epoch, 0 to 1.
    east_m, north_m : array, shape (k,), m
    spread : array, shape (k,)
        Standard deviation relative to a normal fix.
    """

    epoch: Ints
    share: Floats
    east_m: Floats
    north_m: Floats
    spread: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Speeds:
    """Speed over ground, with the direction where the receiver gave it.

    Attributes
    ----------
    epoch, share
        As in :class:`Fixes`.
    speed_ms : array, shape (k,), m/s
    course_rad : array, shape (k,), rad
        Anticlockwise from east; NaN where there is none.
    """

    epoch: Ints
    share: Floats
    speed_ms: Floats
    course_rad: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Turns:
    """Yaw of the trunk on the motion clock.

    Attributes
    ----------
    t_s : array, shape (m,), s
    yaw_rad : array, shape (m,), rad
        Integral of the turn rate.
    valid : array of bool, shape (m,)
    sd_rads : float, rad/s
        Of the mean turn rate over one epoch.
    """

    t_s: Floats
    yaw_rad: Floats
    valid: Bools
    sd_rads: float

    def steps(self, t_s: Floats, shift_s: float) -> tuple[Floats, Floats, Bools]:
        """Yaw between neighbouring times of the path, its change per second of shift, and where.

        Parameters
        ----------
        t_s : array, shape (n,), s
            On the positions' clock.
        shift_s : float, s
            What is subtracted from the motion clock to lie on the positions' clock.
        """
        at = t_s + shift_s
        yaw = np.interp(at, self.t_s, self.yaw_rad)
        ahead = np.interp(at + 0.1, self.t_s, self.yaw_rad)
        behind = np.interp(at - 0.1, self.t_s, self.yaw_rad)
        known = np.interp(at, self.t_s, self.valid.astype(np.float64), left=0, right=0) > 0.99
        return np.diff(yaw), np.diff(ahead - behind) / 0.2, known[1:] & known[:-1]


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """Everything measured, on epochs ``t_s``.

    Attributes
    ----------
    t_s : array, shape (n,), s
        Evenly spaced, on the positions' clock.
    fixes : Fixes
    speeds : Speeds
        Empty when the file has none.
    turns : Turns or None
    still : array of bool, shape (n,)
        The body stood still.
    reset : array of bool, shape (n - 1,)
        The receiver's slow error starts afresh after this epoch.
    slipped : array of bool, shape (n - 1,)
        The phone moved in the pocket between these epochs: no turn is read from the gyroscope.
    """

    t_s: Floats
    fixes: Fixes
    speeds: Speeds
    turns: Turns | None
    still: Bools
    reset: Bools
    slipped: Bools


def turns_of(motion: Motion | None) -> Turns | None:
    """Yaw from a motion record; None without a gyroscope."""
    if motion is None or not motion.has_gyro:
        return None
    rate = motion.turn_rads
    valid = motion.valid & np.isfinite(rate)
    if valid.sum() < 2:
        return None
    steps = np.where(valid, rate, 0.0) / motion.rate_hz
    # The sample stands for the interval around it, so half of it lies before its instant.
    yaw = np.cumsum(steps) - steps / 2
    return Turns(
        t_s=motion.t_s,
        yaw_rad=sharpened(yaw, motion.rate_hz, _blur_s2(motion)),
        valid=valid,
        sd_rads=motion.turn_sd_rads,
    )


def _blur_s2(motion: Motion) -> Floats | float:
    """Variance in time of the window that the turn rate is averaged over: a stride, s²."""
    if not len(motion.stride_s):
        return USUAL_STRIDE_S**2 / 12 + SOFTENED_S2
    stride = np.where(np.isfinite(motion.stride_s), motion.stride_s, NO_STRIDE_S)
    blur: Floats = stride**2 / 12 + SOFTENED_S2
    return blur


def sharpened(yaw_rad: Floats, rate_hz: float, blur_s2: Floats | float) -> Floats:
    """Yaw with a window of given variance undone to second order in the window's width.

    A window of variance ``s`` adds ``s / 2`` times the second derivative; the same is taken off,
    with the derivative over :data:`SHARPEN_S`.
    """
    n = round(SHARPEN_S * rate_hz)
    if len(yaw_rad) <= 2 * n:
        return yaw_rad
    bend = np.zeros(len(yaw_rad))
    bend[n:-n] = yaw_rad[2 * n :] - 2 * yaw_rad[n:-n] + yaw_rad[: -2 * n]
    return yaw_rad - blur_s2 / (2 * SHARPEN_S**2) * bend


def on_epochs(t_s: Floats, epochs_s: Floats) -> tuple[Ints, Floats]:
    """Epoch at or before each time, and the share of the way to the next one."""
    place = (t_s - epochs_s[0]) / EPOCH_S
    epoch = np.clip(np.floor(place).astype(np.int64), 0, len(epochs_s) - 2)
    return epoch, place - epoch
