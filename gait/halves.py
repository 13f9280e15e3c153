"""What the halves of strides say of their instants.

A stride is timed by the feet that land about its start, and each lands a little early or late: no
template shows that, and it is no change of pace. The halves of a stride show it. Instants that
scatter by themselves make the second half of a stride less the first scatter by the root of six of
that, while a horse that hurries does so in step with the strides on either side: this part is
fitted, and what is left tells how far single instants can be believed. The strides are then laid
through starts and middles together.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from scipy.linalg import solveh_banded
from scipy.optimize import least_squares
from scipy.stats import median_abs_deviation

from gait.pace import pieces_of
from gait.steady import seen_of
from gait.strides import Tracked, halves_differ_s, in_turn
from track.path import Floats

FEWEST_STRIDES: Final = 8
"""Of a bout whose halves are looked at: the outermost two at either end are left out."""
FEWEST_HALVED: Final = 12
"""Of a gait, below which nothing is told."""
MOST_IN_STEP: Final = 0.5
"""Where strides are begun half a stride off, the second half is all the next stride's."""
INSTANT_SHARE: Final = 2.0**-0.5
DURATION_SHARE: Final = 2.0**0.5 * (4.0 - 2.0**1.5)
"""Variance of an instant and of a duration against that of single instants, laid through starts and
middles: the inverse of a matrix with 3/2 on its diagonal and 1/4 beside it is the root of 1/2 times
powers of (root of 8) - 3."""
PLAIN_DURATION_SHARE: Final = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Law:
    """How the halves of one gait's strides differ.

    Attributes
    ----------
    after, before : float
        Second half less first, for a step to the next stride's length and from the last one's:
        1/8 each where the pace changes evenly, nought where it changes at starts.
    scatter_s : float, s
        Sd of single instants that the tracking does not know of.
    share : float
        By which the tracking's own variance is too large.
    """

    after: float
    before: float
    scatter_s: float
    share: float


def with_halves(tracked: Sequence[Tracked | None]) -> list[Tracked | None]:
    """Bouts of one gait with their instants laid through starts and middles, and their sds widened.

    Parameters
    ----------
    tracked : sequence of Tracked or None
        With two corners to a stride.

    Returns
    -------
    list of Tracked or None
        As they came where the gait has too few strides to tell.
    """
    law = _law([own for own in tracked if own is not None and _long(own)])
    if law is None:
        return list(tracked)
    return [None if own is None else _laid(own, law) for own in tracked]


def _long(own: Tracked) -> bool:
    return own.half_t_s.size >= FEWEST_STRIDES


def _steps_s(own: Tracked) -> Floats:
    """Steps of length to the next stride and from the last one, shape (k, 2); 0 beyond the ends."""
    step = np.diff(own.corner_t_s, 2)
    return np.column_stack([np.append(step, 0.0), np.insert(step, 0, 0.0)])


def _law(tracked: Sequence[Tracked]) -> Law | None:
    inner = slice(2, -2)
    differ = [halves_differ_s(own) for own in tracked]
    y = np.concatenate([np.zeros(0), *((d - np.median(d))[inner] for d in differ)])
    if y.size < FEWEST_HALVED:
        return None
    steps = np.concatenate([_steps_s(own)[inner] for own in tracked])
    unit = max(float(median_abs_deviation(y, scale="normal")), 1e-6)

    def misfit(share: Floats) -> Floats:
        return np.asarray((y - steps @ share) / unit)

    bounds = (0.0, MOST_IN_STEP)
    in_step = least_squares(misfit, np.full(2, 0.1), bounds=bounds, loss="soft_l1").x
    seen = float(median_abs_deviation(y - steps @ in_step, scale="normal")) ** 2
    known = float(np.median(np.concatenate([own.halves_sd_s[inner] for own in tracked]) ** 2))
    return Law(
        after=float(in_step[0]),
        before=float(in_step[1]),
        scatter_s=float(np.sqrt(max(seen - known, 0.0) / 6.0)),
        share=float(np.sqrt(min(seen / known, 1.0))),
    )


def _laid(own: Tracked, law: Law) -> Tracked:
    if not _long(own):
        return _doubted(own, law, instant=1.0, duration=PLAIN_DURATION_SHARE)
    differ = halves_differ_s(own)
    usual = np.median(differ) + _steps_s(own) @ (law.after, law.before)
    seen = seen_of(own.halves_sd_s).astype(np.float64)
    start = _through(own.corner_t_s, own.half_t_s + 0.5 * usual, seen)
    laid = replace(own, corner_t_s=start)
    return _doubted(laid, law, instant=INSTANT_SHARE, duration=DURATION_SHARE)


def _through(start: Floats, middle: Floats, weight: Floats) -> Floats:
    """Starts for which they and the points midway between them are nearest to those given.

    Examples
    --------
    >>> _through(np.array([0.0, 1.0, 2.0]), np.array([0.5, 1.5]), np.ones(2)).round(9).tolist()
    [0.0, 1.0, 2.0]
    """
    weights = in_turn(np.ones(start.size), weight)
    point = np.arange(weights.size)
    bands, goal = pieces_of(
        point // 2, (point % 2) / 2, weights, weights * in_turn(start, middle), start.size
    )
    return np.asarray(solveh_banded(bands, goal, lower=True))


def _doubted(own: Tracked, law: Law, *, instant: float, duration: float) -> Tracked:
    variance = law.scatter_s**2
    return replace(
        own,
        corner_sd_s=np.sqrt(law.share * own.corner_sd_s**2 + instant * variance),
        duration_sd_s=np.sqrt(law.share * own.duration_sd_s**2 + duration * variance),
    )
