"""How long a horse stood: the stillness of the rider's body, sharper than the bout about it."""

from __future__ import annotations

from typing import Final

import numpy as np

from gait.bouts import Bout
from track.motion import Motion
from track.path import Estimate

WINDOW_S: Final = 0.35
"""Stillness is told over a window, and the body settles after the legs: the first and the last
third of a second of a halt are not yet still [measured on made-up rides]."""
EDGE_SD_S: Final = 0.28
BOUT_EDGE_SD_S: Final = 0.6
"""Doubt of either end of a halt where only the bout tells."""


def standing(bout: Bout, motion: Motion | None) -> tuple[Estimate, Estimate]:
    """When a horse began to stand and when it moved off, s.

    Parameters
    ----------
    bout : Bout
        The halt.
    motion : Motion or None
        On the clock of the bouts.
    """
    span = None if motion is None else _still_span(bout, motion)
    if span is None:
        return (
            Estimate(value=bout.start_s, sd=BOUT_EDGE_SD_S),
            Estimate(value=bout.end_s, sd=BOUT_EDGE_SD_S),
        )
    return (
        Estimate(value=span[0] - WINDOW_S, sd=EDGE_SD_S),
        Estimate(value=span[1] + WINDOW_S, sd=EDGE_SD_S),
    )


def _still_span(bout: Bout, motion: Motion) -> tuple[float, float] | None:
    inside = (motion.t_s >= bout.start_s - 1.0) & (motion.t_s < bout.end_s + 1.0)
    still = np.flatnonzero(inside & motion.still & motion.valid)
    if still.size < motion.rate_hz / 2:
        return None
    return float(motion.t_s[still[0]]), float(motion.t_s[still[-1]])
