"""Tempo and its changes inside a stretch, from stride durations, with their doubt."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from gait.bouts import Stride
from report.settling import spread_of
from track.path import Estimate, Floats

FEWEST_STRIDES: Final = 6
"""Whole strides a stretch needs for a tempo."""


def durations_of(strides: Sequence[Stride]) -> Floats:
    """Stride durations, s."""
    return np.array([stride.duration_s for stride in strides], dtype=np.float64)


def median_tempo(durations_s: Floats) -> float:
    """Median tempo, strides/min.

    Examples
    --------
    >>> median_tempo(np.array([0.74, 0.75, 0.76]))
    80.0
    """
    return float(60 / np.median(durations_s))


def tempo_spm(strides: Sequence[Stride], instant_sd_s: float) -> Estimate | None:
    """Tempo of a stretch, strides/min; None with fewer than :data:`FEWEST_STRIDES`.

    The doubt is that of the stride instants, and that of which strides belong to the stretch:
    the median without its first or its last stride.
    """
    if len(strides) < FEWEST_STRIDES:
        return None
    durations = durations_of(strides)
    instants = spread_of(median_tempo, durations, instant_sd_s)
    cuts = [durations, durations[1:], durations[:-1], durations[1:-1]]
    ends = float(np.std([median_tempo(cut) for cut in cuts]))
    return Estimate(value=median_tempo(durations), sd=max(0.05, float(np.hypot(instants, ends))))


def tempo_change_spm(
    before: Sequence[Stride], inside: Sequence[Stride], instant_sd_s: float
) -> Estimate | None:
    """Tempo inside a stretch less that of the strides before it, strides/min."""
    now, then = tempo_spm(inside, instant_sd_s), tempo_spm(before, instant_sd_s)
    if now is None or then is None:
        return None
    return Estimate(value=now.value - then.value, sd=float(np.hypot(now.sd, then.sd)))


def quarter_tempos(durations_s: Floats, quarter: Floats) -> Floats:
    """Mean tempo of each quarter, strides/min; shape (4,)."""
    return np.array([60 / durations_s[quarter == q].mean() for q in range(4)])


def tempo_range_spm(
    strides: Sequence[Stride], edges_s: Floats, instant_sd_s: float
) -> Estimate | None:
    """Fastest less slowest quarter of a stretch, strides/min.

    Parameters
    ----------
    strides : sequence of Stride
        Those inside the stretch.
    edges_s : array, shape (5,), s
        Times at which its quarters begin and end.
    instant_sd_s : float, s

    Returns
    -------
    Estimate or None
        None where a quarter has fewer than two strides.
    """
    durations = durations_of(strides)
    middles = np.array([stride.t_s + stride.duration_s / 2 for stride in strides])
    quarter = np.searchsorted(edges_s[1:-1], middles, side="right").astype(np.float64)
    if any((quarter == q).sum() < 2 for q in range(4)):
        return None

    def spread(shaken_s: Floats) -> float:
        return float(np.ptp(quarter_tempos(shaken_s, quarter)))

    return Estimate(value=spread(durations), sd=spread_of(spread, durations, instant_sd_s))
