"""Where in the cycle a stride begins: where strides change their length.

A pace of straight pieces with one corner to a stride fits best when its corners lie where one
stride's length gives way to the next one's. Four places a quarter of a stride apart are tried; the
cost goes once round with the place, so that its first circular harmonic names the best. In walk and
trot this also tells the two beats of a stride apart.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

import numpy as np

from gait.harmonics import basis_of, without_odd
from gait.pace import SLOW_STRIDES, bend, cost_of
from gait.strides import QUICK_STRIDES, Tracked, is_steady, tracked_of
from track.path import Floats

PLACES: Final = 4
FEWEST_STRIDES: Final = 12
MOST_BOUTS: Final = 5
MOST_STRIDES: Final = 60
"""Looked at of one bout: more cost time and tell nothing new."""
LEAST_EVIDENCE: Final = 8.0
"""Half the gain in squares, as a log likelihood ratio tempered for noise that is correlated, below
which strides keep the start they were given [judgement]."""


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
    evidence = _of_the_longest(tracked, beats)
    starts = _starts([e for e in evidence if e is not None], beats)
    if starts is None:
        return list(tracked)
    return [
        None if own is None else _moved(own, beats, _nearest(own, starts, told), risen=risen)
        for own, told in zip(tracked, evidence, strict=True)
    ]


def _of_the_longest(tracked: Sequence[Tracked | None], beats: int) -> list[complex | None]:
    """Evidence of some bouts: the place in the cycle is the gait's, not the bout's."""
    lengths = [0.0 if own is None else _strides(own) for own in tracked]
    longest = set(np.argsort(lengths)[::-1][:MOST_BOUTS].tolist())
    return [
        _evidence(own, beats) if i in longest and own is not None else None
        for i, own in enumerate(tracked)
    ]


def _strides(tracked: Tracked) -> float:
    return float(tracked.phase[-1] - tracked.phase[0])


def _evidence(tracked: Tracked, beats: int) -> complex | None:
    """First circular harmonic of the cost over the place; None for a short bout."""
    if _strides(tracked) < FEWEST_STRIDES:
        return None
    costs = _costs(tracked, beats, np.arange(PLACES) / PLACES)
    # One place where the fit went astray must not decide.
    costs = np.minimum(costs - costs.min(), 3.0 * np.median(costs - costs.min()) + 1.0)
    turn = np.exp(2j * np.pi * np.arange(PLACES) / PLACES)
    return complex(-(costs * turn).sum() * 2.0 / PLACES)


def _costs(tracked: Tracked, beats: int, places: Floats) -> Floats:
    """Squares left over with strides begun at some places of the cycle."""
    size = int(tracked.t_s.size * min(1.0, MOST_STRIDES / _strides(tracked)))
    t, phase, x = tracked.t_s[:size], tracked.phase[:size], tracked.axes_ms2[:, :size]
    if beats == 2:  # once, as it does not depend on where a stride begins
        x = without_odd(x, basis_of(phase), SLOW_STRIDES * size / (phase[-1] - phase[0]))
    return np.array(
        [
            cost_of(
                bend(
                    t, x, phase - place, corners=1, odd_strides=None,
                    rounds=2, noise_ms2=tracked.noise_ms2,
                )
            )
            for place in places
        ]
    )  # fmt: skip


def _starts(evidence: Sequence[complex], beats: int) -> Floats | None:
    """Where strides may begin: one place in canter, two half a stride apart in walk and trot."""
    told = np.array(evidence, dtype=np.complex128)
    if told.size == 0 or np.abs(told).sum() < LEAST_EVIDENCE:
        return None
    if beats == 1:
        return np.array([np.angle(told.sum()) / (2.0 * np.pi)])
    # Which of the two beats a bout was begun with is chance: angles doubled, they agree.
    doubled = (np.abs(told) * np.exp(2j * np.angle(told))).sum()
    place = np.angle(doubled) / (4.0 * np.pi)
    return np.array([place, place + 0.5])


def _nearest(own: Tracked, starts: Floats, told: complex | None) -> float:
    """Which of the starts is this bout's: by its evidence, or by trying both."""
    if starts.size == 1:
        return float(starts[0])
    if told is not None:
        return float(starts[np.argmax(np.cos(2.0 * np.pi * starts - np.angle(told)))])
    if _strides(own) < FEWEST_STRIDES:
        return float(starts[0])
    return float(starts[np.argmin(_costs(own, 2, starts))])


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
