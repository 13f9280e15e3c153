"""How long a horse stood: the stillness of the rider's body, sharper than the bout about it."""

from __future__ import annotations

from typing import Final

from gait.bouts import Bout
from track.motion import Motion
from track.path import Estimate

WINDOW_S: Final = 0.35
"""Stillness is told over a window, and the body settles after the legs: the first and the last
third of a second of a halt are not yet still [measured on made-up rides]."""
EDGE_SD_S: Final = 0.13
"""Doubt of either end of a halt told by stillness [measured on made-up rides of two kinds]."""
HANDLED_S: Final = 0.9
HANDLED_SD_S: Final = 0.3
"""A phone that is put away or taken out is left out from about so much before it is touched: who
halts and then reaches for it stood on until then [measured on made-up rides]."""
SLOWING_S: Final = 2.0
"""A bout begins up to so much before stillness: the last steps are slow [measured on made-up
rides]."""
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
    return span


def _still_span(bout: Bout, motion: Motion) -> tuple[Estimate, Estimate] | None:
    inside = (motion.t_s >= bout.start_s - 1.0) & (motion.t_s < bout.end_s + 1.0)
    still = motion.t_s[inside & motion.still & motion.valid]
    if still.size < motion.rate_hz / 2:
        return None
    told = motion.t_s[motion.valid]
    began = _edge(-float(still[0]), -float(told[0]), -float(motion.t_s[0]))
    left = _edge(float(still[-1]), float(told[-1]), float(motion.t_s[-1]))
    return (
        _agreed(Estimate(value=-began.value, sd=began.sd), bout.start_s),
        _agreed(left, bout.end_s),
    )


def _agreed(still: Estimate, bout_s: float) -> Estimate:
    """Take the bout's edge where stillness ends far from it: riders fidget on horses that stand.

    The doubt is then half of what lies between the two.
    """
    apart_s = abs(still.value - bout_s)
    if apart_s <= SLOWING_S:
        return still
    return Estimate(value=bout_s, sd=max(BOUT_EDGE_SD_S, apart_s / 2))


def _edge(still_s: float, told_s: float, recorded_s: float) -> Estimate:
    """When standing ends; with all times negated, when it begins.

    Parameters
    ----------
    still_s, told_s, recorded_s : float, s
        Last stillness of the halt; last sample that tells anything; last sample of all.
    """
    if still_s < told_s - 0.2:
        return Estimate(value=still_s + WINDOW_S, sd=EDGE_SD_S)
    beyond = min(still_s + HANDLED_S + WINDOW_S, recorded_s)
    return Estimate(value=beyond, sd=HANDLED_SD_S)
