"""When exactly one gait gave way to the next: two templates faded into one another.

The last strides of the old gait and the first of the new are known as periodic shapes. Around the
change the signal is taken as one fading into the other along a logistic curve; its midpoint and
its width are tried on a grid and the spread of the likelihood is the onset's sd.

A first stride may still be ridden at the old gait's pace, so that the new shape is tried at some
paces; where neither shape fits, both weigh less; and where the two gaits differ in how much the
trunk moves, its size over about a beat is weighed as well.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.ndimage import uniform_filter1d
from scipy.special import expit

from gait.envelope import WINDOW_S
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
FIT_S: Final = 0.5
"""How well either shape fits is looked at over so long."""
PACES: Final = (1.0, 0.85, 0.7, 1.2, 1.4)
"""The new gait's first stride may be slower or quicker than those that follow: the old one's rate
over the new one's is 0.7 from walk to trot, 0.8 from trot to canter, and the other way round."""
LEVEL_S: Final = (0.8, 4.0)
"""How much the trunk moves in either gait is read between these from the rough change."""
LEVEL_SD: Final = 0.3
"""Beats of one gait differ by so much, as a log, over a window of one beat [judgement]."""
LEVEL_INDEPENDENT_S: Final = 0.4
LEAST_LEVEL_STEP: Final = 0.4
"""Gaits that differ by less, as a log, are not told apart by this."""
FARTHEST_SD: Final = 4.0
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
    envelope: tuple[Floats, Floats] | None = None,
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
    envelope : (array, array), shape (n,), optional
        As :func:`gait.envelope.envelope_of` gives it.
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
    if envelope is not None:
        bounds = (-np.inf if old is None else old.t_s[0], np.inf if new is None else new.t_s[-1])
        cost = cost + _level_costs(*envelope, rough_s, bounds, grid)[:, None]
    chance = np.exp(-(cost - cost.min()))
    chance = chance.sum(axis=1) / chance.sum()
    middle = float(chance @ grid)
    spread = float(np.sqrt(chance @ (grid - middle) ** 2))
    return Onset(t_s=middle, sd_s=float(np.hypot(spread, LEAST_SD_S)))


def _costs(t: Floats, x: Floats, old: Tracked | None, new: Tracked | None, grid: Floats) -> Floats:
    """Half the weighted squares left by every midpoint, shape (midpoints, paces and fades)."""
    before = _continued(old, t)
    noise = np.mean([k.noise_ms2**2 for k in (old, new) if k is not None], axis=0)
    rows = [_products(t, x - before, _continued(new, t, p) - before, noise) for p in PACES]
    both, square = (np.stack(part, axis=1) for part in zip(*rows, strict=True))
    fades = [expit((t - grid[:, None]) / fade) for fade in FADE_S]
    return np.concatenate([0.5 * (w**2 @ square) - w @ both for w in fades], axis=1)


def _products(t: Floats, rest: Floats, change: Floats, noise: Floats) -> tuple[Floats, Floats]:
    """Weighted products of change with what the old shape leaves and with itself, by sample."""
    width = max(1, round(FIT_S / float(t[1] - t[0])))
    left = [uniform_filter1d(part**2, width, axis=1) for part in (rest, rest - change)]
    worse = np.maximum(1.0, np.minimum(*left) / noise[:, None])
    weight = INDEPENDENT_SHARE / (noise[:, None] * worse**2)
    return (weight * rest * change).sum(axis=0), (weight * change**2).sum(axis=0)


def _level_costs(
    t_s: Floats, log_up: Floats, rough_s: float, bounds_s: tuple[float, float], grid: Floats
) -> Floats:
    """Minus log likelihood of each midpoint by how much the trunk moves before and after it."""
    nearest, farthest = LEVEL_S
    edges = rough_s + np.array([-farthest, -nearest, nearest, farthest])
    a, b, c, d = np.searchsorted(t_s, np.clip(edges, *bounds_s))
    if b - a < 3 or d - c < 3:
        return np.zeros(grid.size)
    levels = (float(np.median(log_up[a:b])), float(np.median(log_up[c:d])))
    if abs(levels[1] - levels[0]) < LEAST_LEVEL_STEP:
        return np.zeros(grid.size)
    near_t, near = t_s[a:d], log_up[a:d]
    old, new = (
        0.5 * np.clip((near - level) / LEVEL_SD, -FARTHEST_SD, FARTHEST_SD) ** 2 for level in levels
    )
    each = (old - new) * float(t_s[1] - t_s[0]) / LEVEL_INDEPENDENT_S
    later = _seen_beyond(levels[1] - levels[0])
    return np.interp(grid - later, near_t, np.cumsum(each))


def _seen_beyond(step: float) -> float:
    """How much later than it seems a step of the log envelope is, s; negative for a fall.

    The window sees the livelier gait before it is centred on the change: the envelope is halfway,
    as a log, where the window holds a share of only 1 / (1 + ratio) of it.
    """
    share = 1.0 / (1.0 + np.exp(abs(step)))
    place = np.linspace(0.0, 0.5, 101)  # in windows
    held = place - np.sin(2.0 * np.pi * place) / (2.0 * np.pi)  # integral of a Hann window
    beyond = WINDOW_S * (0.5 - float(np.interp(share, held, place)))
    return float(np.copysign(beyond, step))


def _continued(tracked: Tracked | None, t: Floats, pace: float = 1.0) -> Floats:
    """A bout's template run on beyond its ends at a share of the pace it had there."""
    if tracked is None:
        return np.zeros((3, t.size))
    inside = np.clip(t, tracked.t_s[0], tracked.t_s[-1])
    return template(tracked.shape, phase_at(tracked, inside + pace * (t - inside)))
