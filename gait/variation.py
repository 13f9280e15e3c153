"""Variation of stride time, the instrument's share taken out and told."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from gait.bouts import Gait, Stride
from gait.steady import FEWEST_STEADY, durations_of, steady_of
from gait.warp import overstated_of
from track.path import Estimate

FEWEST_FOR_CV: Final = 20
NOISE_SHARE_SD: Final = 0.3
"""How well the instrument's variance is itself known, as a share of it [judgement]."""
START_SHARE_SD: Final[dict[Gait, float]] = {"walk": 0.05, "trot": 0.05, "canter": 0.1}
"""Share of the variation in doubt because strides may be begun at another moment of the cycle than
where their lengths change: half a stride off a fifth of it is lost, and in canter, where all hangs
on one beat, the moment is least sure [judgement]."""
FEET_SHARE: Final[dict[Gait, float]] = {"walk": 0.002, "trot": 0.002, "canter": 0.004}
"""Single feet land early or late by so much of a stride more or less than the halves of strides
show [judgement]; of canter's one beat they show least."""
FARTHEST_LOG: Final = 0.25
"""A stride further from the median, as a log, is a beat missed or doubled at a lost place, no
horse's: five times the largest variation told (a sound horse has 2 %)."""


def cv_of(strides: Sequence[Stride]) -> Estimate | None:
    """Stride-time variation of some strides, %, the instrument's share removed; None under 20.

    The variance of measured durations is that of the true ones, plus the instrument's, plus twice
    a chance product of both, which makes the doubt together with what is not known of the
    instrument's own variance and of what :func:`gait.warp.overstated_of` takes out. At either end
    of a stretch a stride may be counted in or out by a hair: one exchanged of n moves the variance
    by 2 / n of itself (squares of normal deviates differ by 2, as sd).
    """
    if len(strides) < FEWEST_FOR_CV:
        return None
    strides = steady_of(strides, FEWEST_STEADY)
    durations, _ = durations_of(strides)
    own = np.abs(np.log(durations / np.median(durations))) < FARTHEST_LOG
    strides = [stride for stride, kept in zip(strides, own.tolist(), strict=True) if kept]
    if len(strides) < FEWEST_STEADY:
        return None
    durations, sd_s = durations_of(strides)
    mean, noise = float(durations.mean()), float(np.mean(sd_s**2))
    feet_s, start = FEET_SHARE[strides[0].gait] * mean, START_SHARE_SD[strides[0].gait]
    warp = overstated_of(strides)
    true = max(float(durations.var(ddof=1)) - noise, 0.0) / (1.0 + warp.value) ** 2
    doubt = np.sqrt(
        4.0 * true * noise / durations.size
        + 3.0 * noise**2 / durations.size
        + (NOISE_SHARE_SD * noise) ** 2
        + (2.0 * feet_s**2) ** 2
        + 4.0 * (warp.sd**2 + start**2 + 1.0 / durations.size**2) * true**2
    )
    value = np.sqrt(true)
    # Near nought the square root's slope would be without bound: there the root of the doubt.
    sd = min(doubt / (2.0 * value) if value > 0.0 else np.inf, np.sqrt(doubt))
    return Estimate(value=100.0 * value / mean, sd=float(100.0 * sd / mean))


def instrument_cv_of(strides: Sequence[Stride]) -> Estimate | None:
    """Stride-time variation that the instrument alone would show, %; None without strides."""
    if not strides:
        return None
    durations, sd_s = durations_of(strides)
    share = float(100.0 * np.sqrt(np.mean(sd_s**2)) / durations.mean())
    return Estimate(value=share, sd=0.5 * NOISE_SHARE_SD * share)  # its variance by twice that
