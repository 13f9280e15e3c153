"""How much the trunk moves from beat to beat, and where standing begins and ends by it."""

from __future__ import annotations

from typing import Final

import numpy as np
from scipy.ndimage import convolve1d

from gait.features import FLOOR_MS2, Signals
from track.path import Floats

WINDOW_S: Final = 0.75
"""Hann window, half of that wide: one beat of the trot."""
NEAR_S: Final = 0.8
FAR_S: Final = 3.0
"""How lively a gait is next to a halt is read between these from the rough change."""
LESS: Final = 1.2
"""Motion counts as ended at a third of that: last and first steps are smaller than the others, so
that half would be found too far inside the moving gait [reckoned]."""
BEYOND_S: Final = 0.2
"""A window sees steps that stop at once die down to a third so much later [computed]."""
SEARCH_S: Final = 1.6
ONSET_SD_S: Final = 0.18
"""A halt is come into over about a step [judgement]."""


def envelope_of(signals: Signals) -> tuple[Floats, Floats]:
    """Times and log rms of the vertical, m/s², over about one beat."""
    weight = np.hanning(round(WINDOW_S * signals.rate_hz) + 2)[1:-1]
    square = convolve1d(signals.axes_ms2[0] ** 2, weight / weight.sum(), mode="nearest")
    t_s = signals.start_s + np.arange(square.size) / signals.rate_hz
    return t_s, 0.5 * np.log(square + FLOOR_MS2**2)


def place_standing(
    t_s: Floats, log_up: Floats, rough_s: float, *, limits_s: tuple[float, float], into: bool
) -> float | None:
    """Instant at which steps end (``into`` a halt) or begin.

    Parameters
    ----------
    t_s, log_up : array, shape (n,)
        As :func:`envelope_of` gives them.
    rough_s : float, s
    limits_s : (float, float), s
        Neither gait reaches beyond these.
    into : bool

    Returns
    -------
    float or None
        None where the gait next to the halt is too short to be read.
    """
    side = -1.0 if into else 1.0
    ends = sorted((rough_s + side * NEAR_S, rough_s + side * FAR_S))
    moving = log_up[_between(t_s, max(ends[0], limits_s[0]), min(ends[1], limits_s[1]))]
    near = _between(t_s, max(rough_s - SEARCH_S, limits_s[0]), min(rough_s + SEARCH_S, limits_s[1]))
    if moving.size < 5 or near.stop - near.start < 5:
        return None
    lively = log_up[near] > float(np.median(moving)) - LESS
    at = float(t_s[near.start + change_point(lively == into)]) - 0.5 * float(t_s[1] - t_s[0])
    return at + side * BEYOND_S


def change_point(first_part: np.ndarray) -> int:
    """Where a row that is mostly true and then mostly false changes, with the fewest mistakes.

    Examples
    --------
    >>> change_point(np.array([True, False, True, True, False, False, True, False]))
    4
    """
    gain = np.concatenate([[0], np.cumsum(np.where(first_part, 1, -1))])
    return min(int(gain.argmax()), first_part.size - 1)


def _between(t_s: Floats, start_s: float, end_s: float) -> slice:
    first, last = np.searchsorted(t_s, [start_s, end_s])
    return slice(int(first), int(max(first, last)))
