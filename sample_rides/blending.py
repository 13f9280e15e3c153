"""Smooth ramps in time, by which one bout of motion gives way to the next."""

from __future__ import annotations

from typing import Final

import numpy as np

from track.path import Floats

BLEND_S: Final = 0.35


def smooth_step(x: Floats) -> Floats:
    """0 to 1 over 0 to 1 with continuous second derivative."""
    x = np.clip(x, 0.0, 1.0)
    return np.asarray(x**3 * (10.0 - 15.0 * x + 6.0 * x**2))


def plateau(t_s: Floats, start_s: float, end_s: float, ramp_s: float = BLEND_S) -> Floats:
    """1 from a start to an end, with ramps centred on both."""
    rise = smooth_step((t_s - start_s) / ramp_s + 0.5)
    fall = smooth_step((end_s - t_s) / ramp_s + 0.5)
    return np.asarray(np.minimum(rise, fall))


def weight(t_s: Floats, start_s: float, end_s: float) -> tuple[slice, Floats]:
    """Where a bout's motion acts, and how much of it: neighbours blend over ``BLEND_S``."""
    first, last = np.searchsorted(t_s, [start_s - BLEND_S, end_s + BLEND_S])
    where = slice(int(first), int(last))
    return where, plateau(t_s[where], start_s, end_s)
