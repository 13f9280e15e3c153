"""The motion log on an even 50 Hz grid: anti-aliased, its gaps marked, broken stretches apart."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd
from scipy.signal import firwin, upfirdn

from ingest.columns import ACCEL_MS2, GYRO_RADS, T_S
from ingest.recording import Note
from track.path import Bools, Floats

RATE_HZ: Final = 50.0
_SPLIT_S: Final = 1.0
"""A pause longer than this breaks the integration of the gyroscope."""
_LONG_PAUSE_S: Final = 1800.0
_LEAST_S: Final = 2.0
_PASS_HZ: Final = 20.0
_FEWEST: Final = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """Evenly sampled motion.

    Attributes
    ----------
    t_s : array, shape (n,), s
    accel_ms2 : array, shape (n, 3), m/s²
    gyro_rads : array, shape (n, 3), rad/s, or None
    logged : array of bool, shape (n,)
        False where the log paused.
    stretches : tuple of slice
        Unbroken stretches, in order; what lies between them was never logged.
    notes : tuple of Note
    """

    t_s: Floats
    accel_ms2: Floats
    gyro_rads: Floats | None
    logged: Bools
    stretches: tuple[slice, ...]
    notes: tuple[Note, ...]


def grid_of(motion: pd.DataFrame) -> Grid | None:
    """Resample a motion table; None where it holds less than two seconds of readings."""
    t = motion[T_S].to_numpy(dtype=np.float64)
    values = motion[list(ACCEL_MS2 + GYRO_RADS)].to_numpy(dtype=np.float64)
    keep = np.isfinite(values[:, :3]).all(axis=1)
    keep[1:] &= np.diff(t) > 0
    t, values = t[keep], values[keep]
    t, values, notes = _longest(t, values)
    if len(t) < _FEWEST or t[-1] - t[0] < _LEAST_S:
        return None
    has_gyro = bool(np.isfinite(values[:, 3:]).all(axis=1).mean() > 0.5)
    values = values if has_gyro else values[:, :3]
    even_t, even = _even(t, values)
    logged, stretches = _gaps(t, even_t)
    return Grid(
        t_s=even_t, accel_ms2=even[:, :3], gyro_rads=even[:, 3:] if has_gyro else None,
        logged=logged, stretches=stretches, notes=(*notes, *_rate_notes(t)),
    )  # fmt: skip


def _longest(t_s: Floats, values: Floats) -> tuple[Floats, Floats, tuple[Note, ...]]:
    """Of a log that paused for half an hour or more, the part with the most readings."""
    breaks = np.flatnonzero(np.diff(t_s) > _LONG_PAUSE_S) + 1
    if len(breaks) == 0:
        return t_s, values, ()
    edges = np.concatenate([[0], breaks, [len(t_s)]])
    best = int(np.argmax(np.diff(edges)))
    part = slice(edges[best], edges[best + 1])
    text = "The motion log paused for more than half an hour; only its longest part was used."
    return t_s[part], values[part], (Note(code="motion-paused", text=text, severity="warning"),)


def _even(t_s: Floats, values: Floats) -> tuple[Floats, Floats]:
    """Interpolate to a whole multiple of 50 Hz near the log's own rate, filter, keep every k-th."""
    own_hz = 1 / float(np.median(np.diff(t_s)))
    k = int(np.clip(round(own_hz / RATE_HZ), 1, 20))
    fine = np.arange(t_s[0], t_s[-1], 1 / (k * RATE_HZ))
    taps = firwin(16 * k + 1, _PASS_HZ, fs=k * RATE_HZ)
    even = np.empty((-(-len(fine) // k), values.shape[1]), order="F")
    for i, column in enumerate(values.T):
        drawn = _interpolated(fine, t_s, column)
        even[:, i] = drawn if k == 1 else _thinned(drawn, taps, k)
    return fine[::k], even


def _thinned(signal: Floats, taps: Floats, k: int) -> Floats:
    """Low-pass and keep every k-th sample; the ends are held."""
    half = len(taps) // 2
    padded = np.concatenate([np.full(half, signal[0]), signal, np.full(half, signal[-1])])
    return np.asarray(upfirdn(taps, padded, down=k)[2 * half // k :][: -(-len(signal) // k)])


def _interpolated(at: Floats, t_s: Floats, column: Floats) -> Floats:
    known = np.isfinite(column)
    return np.interp(at, t_s[known], column[known]) if known.any() else np.zeros_like(at)


def _gaps(t_s: Floats, even_t: Floats) -> tuple[Bools, tuple[slice, ...]]:
    step = np.diff(t_s)
    limit = max(0.25, 5 * float(np.median(step)))
    logged = np.ones(len(even_t), dtype=np.bool_)
    cuts = [0]
    for i in np.flatnonzero(step > limit).tolist():
        first, last = np.searchsorted(even_t, [t_s[i], t_s[i + 1]], side="right").tolist()
        logged[first:last] = False
        if step[i] > _SPLIT_S:
            cuts += [first, last]
    cuts.append(len(even_t))
    pairs = zip(cuts[::2], cuts[1::2], strict=True)
    return logged, tuple(slice(a, b) for a, b in pairs if b - a >= RATE_HZ)


def _rate_notes(t_s: Floats) -> tuple[Note, ...]:
    own_hz = 1 / float(np.median(np.diff(t_s)))
    if own_hz >= 0.8 * RATE_HZ:
        return ()
    text = (
        f"The motion log has only {own_hz:.0f} readings a second; "
        "at 50 or more, strides and transitions are timed better."
    )
    return (Note(code="motion-slow-rate", text=text, severity="warning"),)
