"""Where in the cycle a stride begins: where strides change their length.

A pace of straight pieces with one corner to a stride fits best when its corners lie where one
stride's length gives way to the next one's. Such paces are laid through the starts and middles
found, with corners at some places of the cycle; how badly each fits goes once round with the
place, so that its first circular harmonic names the best. In walk and trot this also tells the two
beats of a stride apart.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

import numpy as np
from scipy.linalg import solveh_banded
from scipy.signal import detrend

from gait.pace import SLOW_STRIDES, pieces_of
from gait.strides import (
    NORMAL_MEDIAN,
    QUICK_STRIDES,
    Tracked,
    halves_differ_s,
    in_turn,
    is_steady,
    tracked_of,
)
from track.path import Floats, Ints

PLACES: Final = 8
FEWEST: Final = 12
"""Strides of a bout that is asked."""
ENDS: Final = 4
"""Starts and middles left out at either end, where the neighbouring gait reaches in."""
LEAST_EVIDENCE: Final = 4.0
"""Half the gain in log likelihood, below which strides keep the start they were given: odds of
3000 to 1 [judgement]."""
USUAL_EVIDENCE: Final = 12.0
"""In a gait of one beat starts and middles hang on the same feet, whose scatter draws the best
place to where they land: so much evidence is laid to the place given first [judgement]."""
FAR_SD: Final = 2.0
"""A start or middle further off counts for less (Huber's weight)."""
LEAST_MISFIT_S: Final = 1e-4


def restarted(
    tracked: Sequence[Tracked | None], beats: int, *, risen: bool = False
) -> list[Tracked | None]:
    """Bouts of one gait with their strides begun where their lengths change.

    Parameters
    ----------
    tracked : sequence of Tracked or None
    beats : int
        Vertical beats per stride.
    risen : bool
        The rider may rise to it, to another height each time.

    Returns
    -------
    list of Tracked or None
        Fitted further, and with standard uncertainties.
    """
    evidence = _evidence(tracked)
    starts = _starts([e for e in evidence if e is not None], beats)
    if starts is None:
        starts = np.zeros(1)
    return [
        None if own is None else _moved(own, beats, _nearest(starts, told), risen=risen)
        for own, told in zip(tracked, evidence, strict=True)
    ]


def _evidence(tracked: Sequence[Tracked | None]) -> list[complex | None]:
    """First circular harmonic of each bout's log likelihood over the place; None for short ones."""
    points_of = {
        i: _points_t_s(own)
        for i, own in enumerate(tracked)
        if own is not None and own.half_t_s.size >= FEWEST
    }
    out: list[complex | None] = [None] * len(tracked)
    if not points_of:
        return out
    points_t_s = list(points_of.values())
    places = np.arange(PLACES) / PLACES
    misfits = np.array([_misfits(points_t_s, place) for place in places])
    strides = np.array([points.size // 2 for points in points_t_s])
    told = -0.5 * strides * np.log(misfits)
    harmonic = np.exp(2j * np.pi * places) @ told * 2.0 / PLACES
    for i, own in zip(points_of, harmonic.tolist(), strict=True):
        out[i] = own
    return out


def _points_t_s(tracked: Tracked) -> Floats:
    """Starts and middles in turn, against an even pace; usual differences of halves taken out."""
    usual_s = np.median(halves_differ_s(tracked))
    points_t_s = in_turn(tracked.corner_t_s, tracked.half_t_s + 0.5 * usual_s)
    return np.asarray(detrend(points_t_s[ENDS:-ENDS]))


def _misfits(points_t_s: Sequence[Floats], place: float) -> Floats:
    """Squares left of each bout's points by paces with corners at one place of the cycle.

    Points are half a stride apart; all bouts are fitted at once, none sharing a corner.
    """
    sizes = np.array([points.size for points in points_t_s])
    bout = np.repeat(np.arange(sizes.size), sizes)
    first = np.cumsum(sizes) - sizes
    phase = 0.5 * (np.arange(bout.size) - first[bout]) + 1.0 - place
    left = np.floor(phase).astype(np.int64)
    share = phase - left
    left += (first // 2 + 3 * np.arange(sizes.size))[bout]
    points = np.concatenate(points_t_s)
    weight = np.ones(points.size)
    for _ in range(3):
        rest = points - _fitted(points, weight, left, share)
        size = np.abs(rest)
        far = FAR_SD * max(float(np.median(size)) / NORMAL_MEDIAN, LEAST_MISFIT_S)
        weight = 1.0 / np.maximum(size / far, 1.0)
    return np.bincount(bout, weight * rest**2) + sizes * LEAST_MISFIT_S**2


def _fitted(points_t_s: Floats, weight: Floats, left: Ints, share: Floats) -> Floats:
    """Straight pieces between corners, nearest to some points by least squares."""
    bands, goal = pieces_of(left, share, weight, weight * points_t_s, int(left[-1]) + 2)
    bands[0] += 1e-6  # corners at the ends may have no point
    corner_t_s = solveh_banded(bands, goal, lower=True)
    return np.asarray(corner_t_s[left] * (1.0 - share) + corner_t_s[left + 1] * share)


def _starts(evidence: Sequence[complex], beats: int) -> Floats | None:
    """Where strides may begin: one place in canter, two half a stride apart in walk and trot."""
    told = np.array(evidence, dtype=np.complex128)
    if told.size == 0 or np.abs(told).sum() < LEAST_EVIDENCE:
        return None
    if beats == 1:
        return np.array([np.angle(told.sum() + USUAL_EVIDENCE) / (2.0 * np.pi)])
    # Which of the two beats a bout was begun with is chance: angles doubled, they agree.
    doubled = (np.abs(told) * np.exp(2j * np.angle(told))).sum()
    place = np.angle(doubled) / (4.0 * np.pi)
    return np.array([place, place + 0.5])


def _nearest(starts: Floats, told: complex | None) -> float:
    """Which of the starts is this bout's, by its evidence; the first where it has none."""
    if starts.size == 1 or told is None:
        return float(starts[0])
    return float(starts[np.argmax(np.cos(2.0 * np.pi * starts - np.angle(told)))])


def _moved(tracked: Tracked, beats: int, place: float, *, risen: bool) -> Tracked:
    place = (place + 0.5) % 1.0 - 0.5
    quick = risen and not is_steady(tracked)
    return tracked_of(
        tracked.t_s,
        tracked.axes_ms2,
        tracked.phase - place,
        tracked.read,
        beats=beats,
        odd_strides=QUICK_STRIDES if quick else SLOW_STRIDES,
        rounds=2,
    )


def by_gait(names: Sequence[str]) -> Mapping[str, list[int]]:
    """Indices of each name.

    Examples
    --------
    >>> by_gait(["walk", "trot", "walk"])
    {'walk': [0, 2], 'trot': [1]}
    """
    out: dict[str, list[int]] = {}
    for i, name in enumerate(names):
        out.setdefault(name, []).append(i)
    return out
