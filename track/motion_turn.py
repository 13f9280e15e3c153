"""Turn rate of the trunk from the heading of the phone, swing and gyroscope's bias taken off."""

from __future__ import annotations

from typing import Final

import numpy as np
from scipy.ndimage import gaussian_filter1d, label, uniform_filter1d

from track.motion_beat import closed
from track.path import Bools, Floats

NO_RHYTHM_S: Final = 1.0
"""Averaging time where no stride is found."""
_SOFTEN_S: Final = 0.12
_PATCH_S: Final = 0.7
_QUIET_RADS: Final = 0.06
_LEAST_QUIET_S: Final = 4.0
_MOST_BIAS_RADS: Final = 0.03
_HALTS_APART_S: Final = 10.0
_SWAY_SHARE: Final = 0.6
"""A rider turns by some 3 degrees in a halt of 7 s, 0.0075 rad/s; a phone's bias is of the order
of 0.01 rad/s [judgement]: the squared ratio, by which one halt's word is weighed down."""


def swing_of(twist_rads: Floats, stride_s: Floats, rate_hz: float) -> tuple[Floats, Floats]:
    """Heading of the trunk and of the phone against it.

    Parameters
    ----------
    twist_rads : array, shape (n,), rad/s
        Rate of the phone's heading; no NaN.
    stride_s : array, shape (n,), s
        Time after which the swing repeats.
    rate_hz : float, Hz

    Returns
    -------
    turn_rads : array, shape (n,), rad/s
        Heading differenced over exactly one stride, so that a swing that repeats falls out
        whatever its shape.
    swing_rad : array, shape (n,), rad
        The phone's heading less its own mean over a stride.
    """
    edges = np.arange(len(twist_rads) + 1)
    heading = np.concatenate([[0.0], np.cumsum(twist_rads)]) / rate_hz
    total = np.concatenate([[0.0], np.cumsum((heading[1:] + heading[:-1]) / 2)])
    middle = edges[:-1] + 0.5
    half = stride_s * rate_hz / 2
    half = np.minimum(half, np.maximum(np.minimum(middle, edges[-1] - middle), 0.5))
    first, last = middle - half, middle + half
    turn = (np.interp(last, edges, heading) - np.interp(first, edges, heading)) / (2 * half)
    mean = (np.interp(last, edges, total) - np.interp(first, edges, total)) / (2 * half)
    here = (heading[1:] + heading[:-1]) / 2
    return np.asarray(gaussian_filter1d(turn * rate_hz, _SOFTEN_S * rate_hz)), here - mean


def patched(twist_rads: Floats, moved: tuple[int, ...], rate_hz: float) -> Floats:
    """Bridge the moments in which the phone slipped, and what was never logged."""
    bad = ~np.isfinite(twist_rads)
    reach = round(_PATCH_S * rate_hz)
    for at in moved:
        bad[max(at - reach, 0) : at + reach + 1] = True
    if bad.all():
        return np.zeros_like(twist_rads)
    index = np.arange(len(bad))
    smooth = uniform_filter1d(np.where(bad, 0.0, twist_rads), 2 * reach)
    weight = uniform_filter1d((~bad).astype(np.float64), 2 * reach)
    level = smooth / np.maximum(weight, 1e-9)
    known = ~bad & (weight > 0.5)
    bridge = np.interp(index, index[known], level[known]) if known.any() else 0.0
    return np.asarray(np.where(bad, bridge, twist_rads))


def standing_bias_rads(
    twist_rads: Floats, gyro_rads: Floats, still: Bools, rate_hz: float
) -> float | None:
    """Bias about the vertical, from the time in which nothing turns; None where that is short.

    What is left of it is the path's to find, from the course.
    """
    size = round(rate_hz)
    fast = gyro_rads - uniform_filter1d(gyro_rads, size, axis=0)
    quiet = still & (uniform_filter1d(np.sum(fast**2, axis=1), size) < _QUIET_RADS**2)
    quiet &= np.isfinite(twist_rads)
    if quiet.sum() < _LEAST_QUIET_S * rate_hz:
        return None
    halts = label(closed(quiet, _HALTS_APART_S * rate_hz))[1]
    seen = float(np.median(uniform_filter1d(np.nan_to_num(twist_rads), size)[quiet]))
    return seen * halts / (halts + _SWAY_SHARE) if abs(seen) < _MOST_BIAS_RADS else None
