"""When exactly one gait gave way to the next: two templates faded into one another.

The last strides of the old gait and the first of the new are known as periodic shapes. Around the
change the signal is taken as one fading into the other along a logistic curve; its midpoint and
its width are tried on a grid and the spread of the likelihood is the onset's sd.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.special import expit

from gait.features import Signals
from gait.strides import Tracked, phase_at, template
from track.path import Floats

REACH_S: Final = 2.0
"""How far from the rough change the onset is looked for."""
CONTEXT_S: Final = 1.0
"""Signal looked at beyond that."""
GRID_S: Final = 0.04
FADE_S: Final = (0.03, 0.1, 0.2, 0.35)
"""Time constants of the fade: 0.1 to 1.5 s from a tenth to nine tenths."""
INDEPENDENT_SHARE: Final = 0.2
"""What the template leaves is correlated over about five samples [judgement]."""
LEAST_SD_S: Final = 0.08
"""An onset is an event of about a stride's length: no instant is sharper than this."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Onset:
    """Start of a new gait and its standard uncertainty."""

    t_s: float
    sd_s: float


def place_onset(
    signals: Signals,
    old: Tracked | None,
    new: Tracked | None,
    rough_s: float,
    *,
    earliest_s: float,
    latest_s: float,
) -> Onset:
    """Place the change from one gait to another.

    Parameters
    ----------
    signals : Signals
    old, new : Tracked or None
        The bouts before and after; None for standing still.
    rough_s : float, s
        Where the windows put the change.
    earliest_s, latest_s : float, s
        The onset lies between these.
    """
    low, high = max(earliest_s, rough_s - REACH_S), min(latest_s, rough_s + REACH_S)
    if high - low < 2 * GRID_S or (old is None and new is None):
        return Onset(t_s=rough_s, sd_s=max(0.5 * (high - low), LEAST_SD_S))
    first = max(0, int((low - CONTEXT_S - signals.start_s) * signals.rate_hz))
    last = int((high + CONTEXT_S - signals.start_s) * signals.rate_hz)
    x = signals.axes_ms2[:, first:last]
    t = signals.start_s + np.arange(first, first + x.shape[1]) / signals.rate_hz
    grid = np.arange(low, high, GRID_S)
    cost = _costs(t, x, old, new, grid)
    chance = np.exp(-(cost - cost.min()))
    chance = chance.sum(axis=1) / chance.sum()
    middle = float(chance @ grid)
    spread = float(np.sqrt(chance @ (grid - middle) ** 2))
    return Onset(t_s=middle, sd_s=float(np.hypot(spread, LEAST_SD_S)))


def _costs(t: Floats, x: Floats, old: Tracked | None, new: Tracked | None, grid: Floats) -> Floats:
    """Half the weighted squares left by every midpoint and fade, shape (midpoints, fades)."""
    before, after = _continued(old, t), _continued(new, t)
    noise = np.sqrt(np.mean([k.noise_ms2**2 for k in (old, new) if k is not None], axis=0))
    weight = INDEPENDENT_SHARE / noise[:, None] ** 2
    rest, change = x - before, after - before
    both = (weight * rest * change).sum(axis=0)
    square = (weight * change**2).sum(axis=0)
    out = np.empty((grid.size, len(FADE_S)))
    for column, fade in enumerate(FADE_S):
        w = expit((t - grid[:, None]) / fade)
        out[:, column] = 0.5 * (w**2 @ square) - w @ both
    return out


def _continued(tracked: Tracked | None, t: Floats) -> Floats:
    """A bout's template run on beyond its end at the pace it had there."""
    if tracked is None:
        return np.zeros((3, t.size))
    return template(tracked.shape, phase_at(tracked, t))
