"""The strides that a rhythm is told from: those at a change of gait and in gaps are left out."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from gait.bouts import Stride
from track.path import Bools, Floats

UNSEEN_SD: Final = 3.0
"""What is in doubt by so many times the usual was not measured: the log has a gap there."""
FEWEST_STEADY: Final = 16
"""Strides left after those at a change of gait and those that are no horse's; fewer tell nothing.
"""


def steady_of(strides: Sequence[Stride], fewest: int) -> Sequence[Stride]:
    """Leave out strides at a change of gait and in gaps of the log; all if too few remain.

    The horse shortens or lengthens into and out of a gait, and the tracker runs its outermost
    stride on to where the next gait begins: neither is the rhythm of this gait.
    """
    _, sd_s = durations_of(strides)
    steady = [
        s
        for s, seen in zip(strides, seen_of(sd_s).tolist(), strict=True)
        if seen and not s.at_change
    ]
    return steady if len(steady) >= fewest else strides


def seen_of(sd_s: Floats) -> Bools:
    """Which of some measurements of one kind were made at all, by their standard uncertainties."""
    return np.asarray(sd_s <= UNSEEN_SD * np.median(sd_s))


def durations_of(strides: Sequence[Stride]) -> tuple[Floats, Floats]:
    """Durations and their standard uncertainties, s; nought where those are not known."""
    durations = np.array([s.duration_s for s in strides])
    sd = np.array([s.sd_s for s in strides])
    return durations, np.where(np.isfinite(sd), sd, 0.0)
