"""What the smoother is given: fixes, speeds, turns and stillness, laid on one row of epochs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.ndimage import gaussian_filter1d

from track.motion import Motion
from track.path import Bools, Floats, Ints

EPOCH_S: Final = 0.5
"""Length of an epoch: short against a corner (1.5 s in trot), long against a stride's sway."""

SOFTENED_S2: Final = 0.0144
"""Variance of the softening of the turn rate on top of its mean over one stride."""
USUAL_STRIDE_S: Final = 0.75
NO_STRIDE_S: Final = 1.0
EFFORT_S: Final = 0.4
STIR_MS: Final = 3.0
"""Change of speed, m/s, per unit of change in log activity: halt to walk is about 1, walk to trot
another 0.5, and either changes the speed by 1.5 to 2 m/s."""
UNSTEADY: Final = 4.0
"""Changes of effort so many times the usual are a change of pace."""
SLIP_S: Final = 1.25
"""A slip lasts so long either way, the averaging of the turn rate over a stride included."""
SHARPEN_S: Final = 0.5
SHARPEN_ROUNDS: Final = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Fixes:
    """Positions on the plane, cleaned.

    Attributes
    ----------
    t_s : array, shape (k,), s
        On the positions' clock.
    east_m, north_m : array, shape (k,), m
    spread : array, shape (k,)
        Standard deviation relative to a normal fix.
    """

    t_s: Floats
    east_m: Floats
    north_m: Floats
    spread: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Speeds:
    """Speed over ground, with the direction where the receiver gave it.

    Attributes
    ----------
    t_s : array, shape (k,), s
        On the positions' clock.
    speed_ms : array, shape (k,), m/s
    course_rad : array, shape (k,), rad
        Anticlockwise from east; NaN where there is none.
    """

    t_s: Floats
    speed_ms: Floats
    course_rad: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class YawSteps:
    """Yaw of the trunk from one epoch to the next, shape (n - 1,) each.

    Attributes
    ----------
    turn_rad : array, rad
        Change of yaw.
    bulge_rad : array, rad
        Mean yaw over the step less the mean of its ends: how a turn is spread within the step.
    known : array of bool
    sd_rads : float, rad/s
        Of the mean turn rate over one epoch.
    """

    turn_rad: Floats
    bulge_rad: Floats
    known: Bools
    sd_rads: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """Everything measured, on epochs ``t_s``.

    The epochs lie on the motion clock where there is motion: the clocks' offset then moves the
    fixes against the path, and not the path against its own turns.

    Attributes
    ----------
    t_s : array, shape (n,), s
        Evenly spaced.
    fixes : Fixes
    speeds : Speeds
        Empty when the file has none.
    yaw : YawSteps or None
    still : array of bool, shape (n,)
        The body stood still.
    reset_s : array, s
        Times on the positions' clock at which the receiver's slow error starts afresh.
    stir_ms : array, shape (n - 1,), m/s, or None
        How much the speed may change from one epoch to the next because the effort does; 0 where
        the effort is steady, None where nothing was logged of it.
    """

    t_s: Floats
    fixes: Fixes
    speeds: Speeds
    yaw: YawSteps | None
    still: Bools
    reset_s: Floats
    stir_ms: Floats | None = None

    def reset(self, shift_s: float) -> Bools:
        """Whether the slow error starts afresh after each epoch but the last."""
        out = np.zeros(len(self.t_s) - 1, dtype=np.bool_)
        if len(self.reset_s):
            epoch, _ = on_epochs(self.reset_s + shift_s, self.t_s)
            out[np.maximum(epoch - 1, 0)] = True
        return out


def stir_of(motion: Motion | None, t_s: Floats) -> Floats | None:
    """Change of speed that a change of effort allows, m/s, shape (n - 1,).

    A change of gait shows in the effort at once; positions smooth it, and so would a speed that
    may change as well at any time as at any other.
    """
    if motion is None:
        return None
    level = gaussian_filter1d(np.log1p(motion.activity_ms2), EFFORT_S * motion.rate_hz)
    change = np.abs(np.diff(np.interp(t_s, motion.t_s, level)))
    known = np.interp(t_s, motion.t_s, motion.valid.astype(np.float64), left=0.0, right=0.0) > 0.99
    change[~(known[1:] & known[:-1])] = 0.0
    usual = float(np.median(change[change > 0])) if (change > 0).any() else 0.0
    return STIR_MS * np.maximum(change - UNSTEADY * usual, 0.0)


def yaw_steps(motion: Motion | None, t_s: Floats) -> YawSteps | None:
    """Yaw between epochs on the motion clock; None without a gyroscope."""
    if motion is None or not motion.has_gyro:
        return None
    valid = motion.valid & np.isfinite(motion.turn_rads)
    if valid.sum() < 2:
        return None
    steps = np.where(valid, motion.turn_rads, 0.0) / motion.rate_hz
    # A sample stands for the interval around it, so half of it lies before its instant.
    yaw = sharpened(np.cumsum(steps) - steps / 2, motion.rate_hz, _blur_s2(motion))
    area = (np.cumsum(yaw) - yaw / 2) / motion.rate_hz
    at = np.interp(t_s, motion.t_s, yaw)
    inside = np.interp(t_s, motion.t_s, valid.astype(np.float64), left=0.0, right=0.0) > 0.99
    known = inside[1:] & inside[:-1] & ~_slipped(motion, t_s)
    bulge = np.diff(np.interp(t_s, motion.t_s, area)) / EPOCH_S - (at[1:] + at[:-1]) / 2
    return YawSteps(
        turn_rad=np.where(known, np.diff(at), 0.0),
        bulge_rad=np.where(known, bulge, 0.0),
        known=known,
        sd_rads=motion.turn_sd_rads,
    )


def _slipped(motion: Motion, t_s: Floats) -> Bools:
    """Epochs in which the phone moved in the pocket, a stride's averaging about it counted in."""
    moved_s = np.asarray(motion.moved_s, dtype=np.float64)
    middle_s = (t_s[1:] + t_s[:-1]) / 2
    return np.asarray((np.abs(middle_s[:, None] - moved_s) < SLIP_S).any(axis=1))


def _blur_s2(motion: Motion) -> Floats | float:
    """Variance in time of the window that the turn rate is averaged over: a stride, s²."""
    if not len(motion.stride_s):
        return USUAL_STRIDE_S**2 / 12 + SOFTENED_S2
    stride = np.where(np.isfinite(motion.stride_s), motion.stride_s, NO_STRIDE_S)
    blur: Floats = stride**2 / 12 + SOFTENED_S2
    return blur


def sharpened(yaw_rad: Floats, rate_hz: float, blur_s2: Floats | float) -> Floats:
    """Yaw with a window of given variance undone.

    The window is written as three taps :data:`SHARPEN_S` apart with its variance, and undone by
    Van Cittert's iteration (1931 [recalled]): what blurring the answer again misses of the yaw
    is added to the answer. Two rounds leave the cube of what the window takes off a wave; to
    second order alone, corners would keep a blur that passes for one of the receiver less.
    """
    n = round(SHARPEN_S * rate_hz)
    if len(yaw_rad) <= 2 * n:
        return yaw_rad
    share = np.broadcast_to(np.asarray(blur_s2) / (2 * SHARPEN_S**2), yaw_rad.shape)[n:-n]
    sharp = yaw_rad.copy()
    for _ in range(SHARPEN_ROUNDS):
        bend = sharp[2 * n :] - 2 * sharp[n:-n] + sharp[: -2 * n]
        sharp[n:-n] = yaw_rad[n:-n] - share * bend
    return sharp


def on_epochs(t_s: Floats, epochs_s: Floats) -> tuple[Ints, Floats]:
    """Epoch at or before each time, and the share of the way to the next one."""
    place = (t_s - epochs_s[0]) / EPOCH_S
    epoch = np.clip(np.floor(place).astype(np.int64), 0, len(epochs_s) - 2)
    return epoch, place - epoch
