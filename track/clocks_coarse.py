"""First guess of the shift between two clocks: turn against turn, effort against speed, by FFT."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.ndimage import gaussian_filter1d
from scipy.signal import correlate, find_peaks

from track.attitude import Complexes
from track.motion import Motion
from track.path import Floats

RATE_HZ: Final = 2.0
_SMOOTH_S: Final = 1.5
_SLOWEST_MS: Final = 0.7
_TOGETHER_S: Final = 4.0
"""Samples closer than this tell much the same."""
LEAST_OVERLAP_S: Final = 30.0
MOST_GUESSES: Final = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Traces:
    """Turn and pace of one instrument at 2 Hz; NaN where it says nothing."""

    start_s: float
    turn_rads: Floats
    pace: Floats


def traces_of_fixes(t_s: Floats, y_m: Complexes) -> Traces:
    """Turn of the course and speed, from fixes smoothed over 1.5 s."""
    grid = np.arange(t_s[0], t_s[-1], 1 / RATE_HZ)
    path = gaussian_filter1d(np.interp(grid, t_s, y_m), _SMOOTH_S * RATE_HZ / 2)
    velocity = np.gradient(path, 1 / RATE_HZ)
    speed = np.abs(velocity)
    bend = np.gradient(velocity, 1 / RATE_HZ)
    turn = np.imag(np.conj(velocity) * bend) / np.maximum(speed, _SLOWEST_MS) ** 2
    gap = np.interp(grid, t_s[:-1], np.diff(t_s)) > 8
    turn = np.where((speed < _SLOWEST_MS) | gap, np.nan, turn.clip(-1.5, 1.5))
    return Traces(start_s=float(grid[0]), turn_rads=turn, pace=np.where(gap, np.nan, speed))


def traces_of_motion(motion: Motion) -> Traces:
    """Turn of the trunk and log of its activity, which grows with speed nearly in proportion."""
    step = round(motion.rate_hz / RATE_HZ)
    count = len(motion.t_s) // step
    valid = motion.valid[: count * step].reshape(count, step).mean(axis=1) > 0.5

    def thin(values: Floats) -> Floats:
        return np.asarray(values[: count * step].reshape(count, step).mean(axis=1))

    turn = gaussian_filter1d(thin(np.nan_to_num(motion.turn_rads)), _SMOOTH_S * RATE_HZ / 2)
    pace = gaussian_filter1d(thin(np.log1p(motion.activity_ms2)), _SMOOTH_S * RATE_HZ / 2)
    known = valid & motion.has_gyro
    return Traces(
        start_s=float(motion.t_s[0]) + (step - 1) / 2 / motion.rate_hz,
        turn_rads=np.where(known, turn, np.nan), pace=np.where(valid, pace, np.nan),
    )  # fmt: skip


def masked_correlation(a: Floats, b: Floats) -> tuple[Floats, Floats]:
    """Pearson's r of ``a`` shifted against ``b``, and the count of pairs, for every shift.

    Entry j holds the shift k = j - (len(b) - 1): a[i + k] is set beside b[i]. NaN is left out.
    """
    ka, kb = np.isfinite(a), np.isfinite(b)
    fa, fb = np.where(ka, a, 0.0), np.where(kb, b, 0.0)
    na, nb = ka.astype(np.float64), kb.astype(np.float64)

    def over(p: Floats, q: Floats) -> Floats:
        return np.asarray(correlate(p, q, mode="full", method="fft"))

    count = np.maximum(np.round(over(na, nb)), 0.0)
    n = np.maximum(count, 1.0)
    sum_a, sum_b = over(fa, nb), over(na, fb)
    cross = over(fa, fb) - sum_a * sum_b / n
    var_a = np.maximum(over(fa**2, nb) - sum_a**2 / n, 0.0)
    var_b = np.maximum(over(na, fb**2) - sum_b**2 / n, 0.0)
    scale = np.sqrt(var_a * var_b)
    r = np.where(scale > 1e-6 * max(float(scale.max()), 1e-12), cross / np.maximum(scale, 1e-12), 0)
    return np.clip(r, -0.999, 0.999), count


@dataclass(frozen=True, slots=True, kw_only=True)
class Guess:
    """One possible shift and its log odds against no relation at all."""

    shift_s: float
    odds: float


def guesses(fixes: Traces, motion: Traces, most_s: float | None) -> tuple[Guess, ...]:
    """Best few shifts (motion clock minus position clock), most likely first.

    Parameters
    ----------
    fixes, motion : Traces
    most_s : float or None, s
        Largest shift to be thought of; None for any that leaves an overlap.
    """
    r_turn, n_turn = masked_correlation(motion.turn_rads, fixes.turn_rads)
    r_pace, n_pace = masked_correlation(motion.pace, fixes.pace)
    steps = np.arange(len(r_pace)) - (len(fixes.pace) - 1)
    shift = motion.start_s - fixes.start_s + steps / RATE_HZ
    weight = 1 / (RATE_HZ * _TOGETHER_S)
    odds = (
        -0.5
        * weight
        * (
            n_turn * np.log1p(-(np.maximum(r_turn, 0.0) ** 2))
            + n_pace * np.log1p(-(np.maximum(r_pace, 0.0) ** 2))
        )
    )
    short = min(len(fixes.pace), len(motion.pace)) / RATE_HZ
    allowed = n_pace / RATE_HZ >= min(LEAST_OVERLAP_S, short / 2)
    if most_s is not None:
        allowed &= np.abs(shift) <= most_s
    odds = np.where(allowed, odds, -1.0)
    padded = np.concatenate([[-2.0], odds, [-2.0]])
    peaks = find_peaks(padded, distance=round(4 * RATE_HZ))[0] - 1
    best = peaks[np.argsort(-odds[peaks])][:MOST_GUESSES]
    return tuple(
        Guess(shift_s=float(shift[i]), odds=float(odds[i])) for i in best if odds[i] > -0.5
    )
