"""Tempo: strides a minute, with the instrument's jitter kept out of the median."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from scipy.optimize import brentq
from scipy.special import ndtr

from gait.bouts import Stride
from gait.steady import durations_of, steady_of
from track.path import Estimate, Floats

FEWEST_FOR_TEMPO: Final = 6


def tempo_of(strides: Sequence[Stride]) -> Estimate | None:
    """Median tempo of some strides, strides/min; None under 6.

    The instrument scatters durations about the horse's, while their mean it leaves nearly alone:
    each is drawn to the mean by the instrument's share of the variance (regression to the mean),
    and the median is taken over all that each may then have been. The sd is the instrument's:
    instants at both ends of a run, and the median's loss against the mean (a factor of the root
    of pi/2 for normal scatter). Strides at a change of gait are left out, and may be counted in by
    another: each moves the median half a rank either way, and a rank of n is the root of 2 pi
    times the horse's sd, over n, for normal scatter.
    """
    if len(strides) < FEWEST_FOR_TEMPO:
        return None
    durations, sd_s = durations_of(steady_of(strides, FEWEST_FOR_TEMPO))
    mean, variance = float(durations.mean()), float(durations.var(ddof=1))
    horse = max(variance - float(np.mean(sd_s**2)), 0.0) / max(variance, 1e-12)
    drawn = mean + horse * (durations - mean)
    tempo = 60.0 / _median_of_normals(drawn, float(np.sqrt(horse * np.mean(sd_s**2))))
    instants = np.sqrt(np.pi / 2.0) * float(np.mean(sd_s / durations)) / np.sqrt(len(strides))
    changes = sum(stride.at_change for stride in strides)
    ranks = np.sqrt(2.0 * np.pi * horse * variance * changes) / (2.0 * len(strides) * mean)
    return Estimate(value=tempo, sd=float(tempo * np.hypot(instants, ranks)))


def _median_of_normals(means: Floats, sd: float) -> float:
    """Median of a mixture of normal laws of one sd.

    Examples
    --------
    >>> _median_of_normals(np.array([1.0, 2.0, 4.0]), 0.0)
    2.0
    >>> round(_median_of_normals(np.array([-1.0, 0.0, 1.0]), 2.0), 9)
    0.0
    """
    if sd <= 0.0 or np.ptp(means) == 0.0:
        return float(np.median(means))

    def excess(value: float) -> float:
        return float(ndtr((value - means) / sd).mean()) - 0.5

    return float(brentq(excess, means.min(), means.max()))
