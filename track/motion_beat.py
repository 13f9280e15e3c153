"""The beat: how fast and how regularly the body goes up and down, and when it stands still."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.ndimage import maximum_filter1d, minimum_filter1d, uniform_filter1d

from track.path import Bools, Floats

HOP_S: Final = 0.5
WINDOW_S: Final = 4.0
"""Walk's vertical line lies on canter's, and rising trot's 0.3 Hz below it: shorter windows
cannot hold them apart."""
BEAT_S: Final = (0.25, 1.4)
STRIDE_S: Final = (0.45, 1.4)
BEAT_NEARLY: Final = 0.4
"""A peak this high against the highest is the beat, later ones its multiples. With amplitudes 2f
over f of at most 1.1 (canter, in acceleration) the peak at half a stride stays below 0.1; a thigh
that swings with every second step leaves 0.5 and more of walk's and trot's."""
STRIDE_NEARLY: Final = 0.85
LEAST_REGULAR: Final = 0.3
_FIDGET_S: Final = 1.6
_LEAST_STILL_S: Final = 1.2
_STILL_SHARE: Final = 0.4
_STILL_LIMITS_MS2: Final = (0.15, 0.7)


@dataclass(frozen=True, slots=True, kw_only=True)
class Periods:
    """Repetition of a signal, window by window.

    Attributes
    ----------
    t_s : array, shape (m,), s
        Middles of the windows, from the first sample.
    period_s : array, shape (m,), s
        Time after which it repeats first; NaN where it does not.
    regularity : array, shape (m,)
        Height of that peak of the autocorrelation.
    """

    t_s: Floats
    period_s: Floats
    regularity: Floats


def periods_of(
    signals: Floats, rate_hz: float, within_s: tuple[float, float], nearly: float
) -> Periods:
    """Autocorrelation of (n, k) signals together, over windows of four seconds.

    The peak is that of A(m) = Σ x_i x_i+m / sqrt(Σ x_i² Σ x_i+m²), the sums over the window and
    all k signals: free of the taper that the biased form has, and never above 1.
    """
    hop = round(HOP_S * rate_hz)
    blocks = len(signals) // hop
    if blocks < 2:
        nothing = np.full(1, np.nan)
        return Periods(t_s=np.zeros(1), period_s=nothing, regularity=np.zeros(1))
    lags = np.arange(int(within_s[0] * rate_hz) - 1, int(within_s[1] * rate_hz) + 3)
    room = np.vstack([signals, np.zeros((lags[-1] + 1, signals.shape[1]))])
    count = blocks * hop
    now = room[:count].reshape(blocks, -1)
    base = _windowed(np.einsum("ij,ij->i", now, now))
    table = np.empty((len(lags), blocks))
    for row, lag in enumerate(lags):
        later = room[lag : lag + count].reshape(blocks, -1)
        energy = _windowed(np.einsum("ij,ij->i", later, later))
        cross = _windowed(np.einsum("ij,ij->i", now, later))
        table[row] = cross / np.maximum(np.sqrt(base * energy), 1e-9)
    period, height = _first_peak(table, nearly)
    middles = np.linspace(0.5, blocks - 0.5, blocks) * HOP_S
    return Periods(t_s=middles, period_s=(lags[0] + period) / rate_hz, regularity=height)


def _windowed(sums: Floats) -> Floats:
    """Sums over four seconds from those of half a second, shorter at the ends."""
    width = round(WINDOW_S / HOP_S)
    total = np.concatenate([[0.0], np.cumsum(sums)])
    first = np.clip(np.arange(len(sums)) - width // 2 + 1, 0, None)
    last = np.clip(np.arange(len(sums)) + width // 2 + 1, None, len(sums))
    return np.asarray(total[last] - total[first])


def _first_peak(table: Floats, nearly: float) -> tuple[Floats, Floats]:
    """First local peak ``nearly`` as high as the highest, by a parabola through three lags."""
    inner = table[1:-1]
    peak = (inner >= table[:-2]) & (inner > table[2:])
    height = np.where(peak, inner, -1.0)
    best = height.max(axis=0)
    row = np.argmax(height >= nearly * np.maximum(best, 1e-9), axis=0) + 1
    column = np.arange(table.shape[1])
    left, middle, right = table[row - 1, column], table[row, column], table[row + 1, column]
    bend = left - 2 * middle + right
    shift = np.where(np.abs(bend) > 1e-12, (left - right) / (2 * np.minimum(bend, -1e-12)), 0.0)
    shift = np.clip(shift, -0.5, 0.5)
    top = middle - (left - right) * shift / 4
    found = best > LEAST_REGULAR
    return np.where(found, row + shift, np.nan), np.where(found, np.clip(top, 0.0, 1.0), 0.0)


def activity_ms2(accel_ms2: Floats, rate_hz: float) -> Floats:
    """Root mean square of the specific force about its mean of a second, over 0.6 s, m/s²."""
    power = np.zeros(len(accel_ms2))
    for column in accel_ms2.T:
        power += (column - uniform_filter1d(column, round(rate_hz))) ** 2
    power = uniform_filter1d(power, round(0.6 * rate_hz))
    return np.asarray(np.sqrt(np.maximum(power, 0.0)))


def still_mask(
    activity: Floats, regularity: Floats, usable: Bools, rate_hz: float
) -> tuple[Bools, float]:
    """Where the body stands, by this ride's own levels.

    The line between still and moving lies at a share of what the quietest *rhythmic* movement of
    the ride shows; a fidget shorter than a stride and a half does not end a halt.

    Returns
    -------
    array of bool, shape (n,)
    float
        The level used, m/s².
    """
    moving = activity[usable & (regularity > 0.6) & (activity > _STILL_LIMITS_MS2[0])]
    quiet_walk = float(np.percentile(moving, 10)) if len(moving) > 10 * rate_hz else 1.0
    level = float(np.clip(_STILL_SHARE * quiet_walk, *_STILL_LIMITS_MS2))
    still = opened(closed(activity < level, _FIDGET_S * rate_hz), _LEAST_STILL_S * rate_hz)
    return np.asarray(still & usable), level


def closed(mask: Bools, size: float) -> Bools:
    """Fill the holes shorter than ``size`` samples."""
    width = 2 * (max(round(size), 1) // 2) + 1
    grown = maximum_filter1d(mask.astype(np.uint8), width, mode="constant")
    return np.asarray((minimum_filter1d(grown, width, mode="nearest") > 0) | mask)


def opened(mask: Bools, size: float) -> Bools:
    """Drop the runs shorter than ``size`` samples."""
    return ~closed(~mask, size)
