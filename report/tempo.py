"""Tempo and its changes inside a stretch, from stride durations, with their doubt."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Final

import numpy as np

from gait.bouts import Stride
from gait.tempo import tempo_of
from report.settling import DRAWS, spread_of, whole_strides
from track.path import Estimate, Floats

FEWEST_STRIDES: Final = 6
"""Whole strides a stretch needs for a tempo."""


def own_instant_sd_s(strides: Sequence[Stride], otherwise_s: float) -> float:
    """Doubt of these strides' instants, s: their own where they have one.

    Those of walk are less sharp than those of canter. A duration lies between two instants.

    Parameters
    ----------
    otherwise_s : float, s
        That of the ride's strides, for strides that do not tell theirs.
    """
    own = [stride.sd_s for stride in strides if np.isfinite(stride.sd_s)]
    return float(np.median(own) / np.sqrt(2)) if own else otherwise_s


def durations_of(strides: Sequence[Stride]) -> Floats:
    """Stride durations, s."""
    return np.array([stride.duration_s for stride in strides], dtype=np.float64)


def median_tempo(durations_s: Floats) -> Floats:
    """Median tempo of each row, strides/min.

    Examples
    --------
    >>> float(median_tempo(np.array([0.74, 0.75, 0.76])))
    80.0
    """
    return np.asarray(60 / np.median(durations_s, axis=-1))


def tempo_spm(strides: Sequence[Stride], instant_sd_s: float) -> Estimate | None:
    """Tempo of a stretch, strides/min; None with fewer than :data:`FEWEST_STRIDES`.

    The doubt is that of the stride instants, and that of which strides belong to the stretch:
    the median without its first or its last stride.
    """
    if len(strides) < FEWEST_STRIDES:
        return None
    whole = _told(strides, instant_sd_s)
    cuts = [strides[1:], strides[:-1], strides[1:-1]]
    told = [_told(cut, instant_sd_s).value for cut in cuts]
    ends = float(np.std([whole.value, *told]))
    return Estimate(value=whole.value, sd=float(np.hypot(whole.sd, ends)))


def _told(strides: Sequence[Stride], instant_sd_s: float) -> Estimate:
    """Median tempo by what each stride may have lasted, where their doubt is known."""
    sds = [stride.sd_s for stride in strides]
    known = tempo_of(strides) if np.isfinite(sds).all() else None
    if known is not None:
        return known
    durations, own_sd_s = durations_of(strides), own_instant_sd_s(strides, instant_sd_s)
    spread = spread_of(median_tempo, durations, own_sd_s)
    return Estimate(value=float(median_tempo(durations)), sd=spread)


def tempo_change_spm(
    before: Sequence[Stride], inside: Sequence[Stride], instant_sd_s: float
) -> Estimate | None:
    """Tempo inside a stretch less that of the strides before it, strides/min."""
    now, then = tempo_spm(inside, instant_sd_s), tempo_spm(before, instant_sd_s)
    if now is None or then is None:
        return None
    return Estimate(value=now.value - then.value, sd=float(np.hypot(now.sd, then.sd)))


def quarter_tempos(instants_s: Floats, edges_s: Floats) -> Floats:
    """Tempo of each quarter from the strides, with fractions, that it holds; strides/min.

    Examples
    --------
    >>> quarter_tempos(np.arange(0.0, 16.5, 0.75), np.array([0.0, 3.0, 6.0, 9.0, 12.0]))
    array([80., 80., 80., 80.])
    """
    phase = np.interp(edges_s, instants_s, np.arange(instants_s.size, dtype=np.float64))
    return np.asarray(60 * np.diff(phase) / np.diff(edges_s))


def tempo_range_spm(
    strides: Sequence[Stride], edges_s: Floats, instant_sd_s: float, edge_sd_s: float = 0.2
) -> Estimate | None:
    """Fastest less slowest quarter of a stretch, strides/min.

    Parameters
    ----------
    strides : sequence of Stride
        Those of the stretch, without a gap, and one beyond each of its ends where there is one.
    edges_s : array, shape (5,), s
        Times at which its quarters begin and end.
    instant_sd_s, edge_sd_s : float, s
        Doubt of a stride instant and of when a quarter begins.

    Returns
    -------
    Estimate or None
        None where a quarter has fewer than two strides, or strides are missing.
    """
    if len(strides) < 8 or not _whole(strides):
        return None
    instants = np.array([s.t_s for s in strides] + [strides[-1].t_s + strides[-1].duration_s])
    edges = np.clip(edges_s, instants[0], instants[-1])
    if np.diff(edges).min() < 2 * np.diff(instants).max():
        return None
    rng = np.random.default_rng(1)
    shaken = [
        np.ptp(
            quarter_tempos(
                instants + rng.normal(0.0, instant_sd_s, instants.size),
                np.clip(edges + rng.normal(0.0, edge_sd_s, 5), instants[0], instants[-1]),
            )
        )
        for _ in range(DRAWS)
    ]
    value = float(np.ptp(quarter_tempos(instants, edges)))
    return Estimate(value=value, sd=float(np.std(shaken)))


def _whole(strides: Sequence[Stride]) -> bool:
    """True where each stride begins as the one before ends, to half a stride, and none is a piece.

    The first and the last may be: they lie beyond the ends, where another gait may begin.
    """
    inner = durations_of(strides)[1:-1]
    joined = all(b.t_s - a.t_s < 1.5 * a.duration_s for a, b in pairwise(strides))
    return joined and whole_strides(inner).size == inner.size
