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
from scipy.stats import median_abs_deviation

from gait.pace import SLOW_STRIDES
from gait.strides import QUICK_STRIDES, Tracked, is_steady, tracked_of
from track.path import Floats, Ints

PLACES: Final = 8
FEWEST_STRIDES: Final = 12
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
    """
    evidence = [None if own is None else _evidence(own) for own in tracked]
    starts = _starts([e for e in evidence if e is not None], beats)
    if starts is None:
        return list(tracked)
    return [
        None if own is None else _moved(own, beats, _nearest(starts, told), risen=risen)
        for own, told in zip(tracked, evidence, strict=True)
    ]


def _evidence(tracked: Tracked) -> complex | None:
    """First circular harmonic of the log likelihood over the place; None for a short bout."""
    if tracked.half_t_s.size < FEWEST_STRIDES:
        return None
    points_t_s = _points_t_s(tracked)
    places = np.arange(PLACES) / PLACES
    misfits = np.array([_misfit(points_t_s, place) for place in places])
    told = -0.5 * (points_t_s.size // 2) * np.log(misfits)
    return complex((told * np.exp(2j * np.pi * places)).sum() * 2.0 / PLACES)


def _points_t_s(tracked: Tracked) -> Floats:
    """Starts and middles in turn, against an even pace; usual differences of halves taken out."""
    start, middle = tracked.corner_t_s, tracked.half_t_s
    out = np.empty(start.size + middle.size)
    out[::2], out[1::2] = start, middle
    out[1::2] += 0.5 * np.median(start[1:] + start[:-1] - 2.0 * middle)
    return np.asarray(detrend(out[ENDS:-ENDS]))


def _misfit(points_t_s: Floats, place: float) -> float:
    """Squares left by a pace with corners at one place of the cycle, of points by half strides."""
    phase = 0.5 * np.arange(points_t_s.size) + 1.0 - place
    left = np.floor(phase).astype(np.int64)
    share = phase - left
    weight = np.ones(points_t_s.size)
    for _ in range(3):
        rest = points_t_s - _fitted(points_t_s, weight, left, share)
        far = FAR_SD * max(float(median_abs_deviation(rest, scale="normal")), LEAST_MISFIT_S)
        weight = 1.0 / np.maximum(np.abs(rest) / far, 1.0)
    return float(weight @ rest**2) + points_t_s.size * LEAST_MISFIT_S**2


def _fitted(points_t_s: Floats, weight: Floats, left: Ints, share: Floats) -> Floats:
    """Straight pieces between corners, nearest to some points by least squares."""
    count = int(left[-1]) + 2
    bands, goal = np.zeros((2, count)), np.zeros(count)
    for part, corner in ((1.0 - share, left), (share, left + 1)):
        bands[0] += np.bincount(corner, weight * part**2, count)
        goal += np.bincount(corner, weight * part * points_t_s, count)
    bands[0] += 1e-6  # the outermost corners may have no point
    bands[1] = np.bincount(left, weight * share * (1.0 - share), count)
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
