"""Regularity by autocorrelation, and what chance leaves open of a coefficient of variation."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np
from scipy.stats import chi2

from gait.bouts import Stride, runs_of
from track.motion import Motion
from track.path import Estimate, Floats

STRIDES: Final = 10
"""Strides of one reading of the regularity."""
FEWEST_READINGS: Final = 3


def regularity(
    motion: Motion, start_s: float, end_s: float, stride_s: float
) -> tuple[float, float] | None:
    """Height of the half-stride and stride peaks of the vertical's autocorrelation.

    Parameters
    ----------
    motion : Motion
    start_s, end_s : float, s
        At least six strides long.
    stride_s : float, s
        Mean stride duration.

    Returns
    -------
    (float, float) or None
        Ad1 and Ad2 of Moe-Nilssen & Helbostad (J Biomech 2004): the highest value within a tenth
        of a stride about half a stride and about a stride.
    """
    first, last = np.searchsorted(motion.t_s, [start_s, end_s])
    up = motion.up_ms2[first:last]
    stride = stride_s * motion.rate_hz
    if up.size < 6 * stride:
        return None
    ratio = autocorrelation(up, round(1.2 * stride))

    def peak(lag: float) -> float:
        low, high = round(lag - 0.1 * stride), round(lag + 0.1 * stride)
        return float(ratio[low : high + 1].max())

    return peak(0.5 * stride), peak(stride)


def autocorrelation(values: Floats, lags: int) -> Floats:
    """Unbiased autocorrelation about the mean, lags 0 to ``lags``, over its value at 0.

    A(m) = 1/(N - |m|) Σ x_i x_{i+m} (Moe-Nilssen & Helbostad 2004, eq. 2).

    Examples
    --------
    >>> wave = np.sin(2 * np.pi * np.arange(100) / 20)
    >>> round(float(autocorrelation(wave, 20)[20]), 6)
    1.0
    """
    x = values - values.mean()
    size = 1 << int(2 * x.size - 1).bit_length()
    power = np.abs(np.fft.rfft(x, size)) ** 2
    sums = np.fft.irfft(power, size)[: lags + 1]
    unbiased = sums / (x.size - np.arange(lags + 1))
    return np.asarray(unbiased / unbiased[0])


def regularity_of(strides: Sequence[Stride], motion: Motion) -> Estimate | None:
    """Mean of Ad2 over readings of ten strides that follow one another, with its sd.

    The sd is that of the mean, from reading to reading. None with fewer than three readings.
    """
    readings = []
    for run in _pieces(strides):
        start_s, end_s = run[0].t_s, run[-1].t_s + run[-1].duration_s
        found = regularity(motion, start_s, end_s, (end_s - start_s) / len(run))
        if found is not None:
            readings.append(found[1])
    if len(readings) < FEWEST_READINGS:
        return None
    sd = float(np.std(readings, ddof=1)) / len(readings) ** 0.5
    return Estimate(value=float(np.mean(readings)), sd=sd)


def _pieces(strides: Sequence[Stride]) -> Iterator[Sequence[Stride]]:
    """Ten at a time without a gap and away from changes of gait."""
    for run in runs_of([stride for stride in strides if not stride.at_change]):
        for first in range(0, len(run) - STRIDES + 1, STRIDES):
            yield run[first : first + STRIDES]


def chance_interval(cv_percent: float, count: int, level: float = 0.95) -> tuple[float, float]:
    """Interval of the coefficient of variation behind a sample of durations, %.

    For normal durations, by Vangel's modification of McKay's approximation (Am Stat 1996;50:21,
    eq. 12 [recalled]), good to a part in a thousand where the coefficient is under a third. What
    the sample itself had is known far better: this is what other strides of this horse may have.

    Examples
    --------
    >>> low, high = chance_interval(2.0, 40)
    >>> round(low, 2), round(high, 2)
    (1.64, 2.57)
    """
    free, square = count - 1.0, (cv_percent / 100.0) ** 2
    quantiles = chi2.ppf([0.5 + level / 2.0, 0.5 - level / 2.0], free)
    scale = np.sqrt(((quantiles + 2.0) / count - 1.0) * square + quantiles / free)
    return float(cv_percent / scale[0]), float(cv_percent / scale[1])
