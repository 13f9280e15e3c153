"""Tempo about a transition: how soon the new gait settles, whether the old one hurried."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from gait.bouts import Gait, Gaits, Stride, Transition
from track.path import Estimate, Floats

WINDOW: Final = 4
"""Strides in one mean."""
TOLERANCE: Final = 0.03
LONGEST: Final = 24
"""Strides after the onset that are looked at: later changes of tempo are not the transition's."""
DRAWS: Final = 60
WHOLE: Final = 0.2
"""A stride that differs by more from the others is a piece of one, or one and a half."""


def spread_of(
    measure: Callable[[Floats], Floats], durations_s: Floats, instant_sd_s: float
) -> float:
    """Doubt of a measure of stride durations from the doubt of the stride instants.

    Parameters
    ----------
    measure : callable
        From stride durations, one ride to a row, to a number for each row.
    durations_s : array, shape (n,), s
    instant_sd_s : float, s
        Standard uncertainty of one stride instant.

    Returns
    -------
    float
        Standard deviation of the measure when the instants are shaken by their own doubt
        (a fixed seed, so that a ride always gives the same page).
    """
    rng = np.random.default_rng(1)
    known_sd_s = instant_sd_s if np.isfinite(instant_sd_s) else 0.01
    shaken = rng.normal(0.0, known_sd_s, (DRAWS, durations_s.size + 1))
    moved = np.maximum(durations_s + np.diff(shaken, axis=1), 0.1)
    return float(np.std(measure(moved)))


def _run_of(gaits: Gaits, gait: Gait, start_s: float, end_s: float) -> list[Stride]:
    return [s for s in gaits.strides if s.gait == gait and start_s - 0.2 <= s.t_s < end_s]


def settled_after(durations_s: Floats) -> Floats:
    """Count strides until every mean of four stays within 3 % of the median, for each row.

    Examples
    --------
    >>> float(settled_after(np.array([0.9, 0.8] + [0.75] * 10)))
    1.0
    """
    means = sliding_window_view(durations_s, WINDOW, axis=-1).mean(axis=-1)
    usual = np.median(durations_s, axis=-1)[..., None]
    off = np.abs(means / usual - 1) > TOLERANCE
    return np.asarray((off * np.arange(1.0, off.shape[-1] + 1)).max(axis=-1))


def settle_strides(gaits: Gaits, found: Transition) -> Estimate | None:
    """Strides from the onset until the tempo stays; None with fewer than 8 strides to judge by."""
    later = [t.t_s for t in gaits.transitions if t.t_s > found.t_s + 0.5]
    until_s = min(later, default=float("inf"))
    # The strides before the next transition belong to that one.
    run = _run_of(gaits, found.to_gait, found.t_s, until_s)[:-WINDOW][:LONGEST]
    if len(run) < 2 * WINDOW:
        return None
    durations = np.array([stride.duration_s for stride in run])
    sd = spread_of(settled_after, durations, gaits.stride_sd_s)
    return Estimate(value=float(settled_after(durations)), sd=max(sd, 0.3))


def whole_strides(durations_s: Floats) -> Floats:
    """Durations without those of pieces of strides, such as the last one before another gait.

    Examples
    --------
    >>> whole_strides(np.array([0.7, 0.72, 0.7, 0.69, 0.3])).tolist()
    [0.7, 0.72, 0.7, 0.69]
    """
    return durations_s[np.abs(durations_s / np.median(durations_s) - 1) < WHOLE]


def _rush(durations_s: Floats) -> Floats:
    last, before = durations_s[..., -WINDOW:], durations_s[..., :-WINDOW]
    return np.asarray(60 / last.mean(axis=-1) - 60 / before.mean(axis=-1))


def rush_spm(gaits: Gaits, found: Transition) -> Estimate | None:
    """Tempo of the last 4 strides before a transition less the tempo before them, strides/min.

    None with fewer than 10 strides before.
    """
    earlier = [t.t_s for t in gaits.transitions if t.t_s < found.t_s - 0.5]
    since_s = max(earlier, default=float("-inf"))
    before = [
        stride
        for stride in _run_of(gaits, found.from_gait, since_s, found.t_s)
        if stride.t_s + stride.duration_s <= found.t_s + 0.2
    ]
    if len(before) < 10:
        return None
    durations = whole_strides(np.array([stride.duration_s for stride in before[-LONGEST:]]))
    if durations.size < 10:
        return None
    value, sd = float(_rush(durations)), spread_of(_rush, durations, gaits.stride_sd_s)
    # Which stride is the last is as doubtful as the onset: that one, or one as they usually are.
    tempi = 60 / durations
    usual = float(np.std(tempi[:-WINDOW])) * np.sqrt(2) / WINDOW
    other = np.hypot(float(_rush(durations[:-1])) - value, usual)
    ends = other * _share_for(_chance_of_another(found, durations))
    return Estimate(value=value, sd=float(np.hypot(sd, ends)))


def _chance_of_another(found: Transition, durations_s: Floats) -> float:
    """Chance that another stride was the last one: the onset's mean error over a stride."""
    mean_error_s = np.sqrt(2 / np.pi) * found.t_sd_s
    return float(min(1.0, mean_error_s / np.median(durations_s[-WINDOW:])))


def _share_for(chance: float) -> float:
    """Share of a step that stands for its doubt, where it is taken with a chance.

    The standard deviation, or where that of a normal law would leave the step out of its 95 %
    interval though it is likelier than one in twenty, as much as holds it.

    Examples
    --------
    >>> _share_for(0.01), round(_share_for(0.15), 2), _share_for(1.0)
    (0.1, 0.51, 1.0)
    """
    least = 1 / 1.96 if chance > 0.05 else 0.0
    return float(max(np.sqrt(chance), least))
