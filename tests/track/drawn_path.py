"""Paths drawn from straights and arcs, for tests: what was drawn is known to the millimetre."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from scipy.ndimage import gaussian_filter1d

from track.path import Floats, Ints, Path

Bit = tuple[float, float]
"""Length, m, and radius, m: left positive, infinite on a straight."""

STRAIGHT = np.inf


class NoPosterior:
    """Independent epochs of 0.3 m."""

    def covariance(self, epochs: Ints) -> Floats:
        return 0.09 * np.eye(2 * len(epochs))


def left(degrees: float, radius_m: float) -> Bit:
    return np.radians(degrees) * radius_m, radius_m


def right(degrees: float, radius_m: float) -> Bit:
    return np.radians(degrees) * radius_m, -radius_m


def drawn(
    bits: Sequence[Bit],
    *,
    start_m: tuple[float, float] = (0.0, 0.0),
    heading_deg: float = 90.0,
    speed_ms: float = 3.3,
    body_m: float = 0.8,
) -> Path:
    """Ride straights and arcs at one speed; a body blurs the curvature by ``body_m``."""
    step = 0.05
    total = sum(length for length, _ in bits)
    s = np.arange(0.0, total, step)
    edges = np.cumsum([length for length, _ in bits])
    radii = np.array([radius for _, radius in bits])
    which = np.minimum(np.searchsorted(edges, s, side="right"), len(bits) - 1)
    curvature = gaussian_filter1d(1 / radii[which], body_m / step)
    heading = np.radians(heading_deg) + np.cumsum(curvature) * step
    x = start_m[0] + np.cumsum(np.cos(heading)) * step
    y = start_m[1] + np.cumsum(np.sin(heading)) * step
    t: Floats = np.arange(0.0, total / speed_ms, 0.5)
    at = t * speed_ms
    one = np.ones_like(t)
    return Path(
        t_s=t, x_m=np.interp(at, s, x), y_m=np.interp(at, s, y), sd_x_m=0.3 * one,
        sd_y_m=0.3 * one, speed_ms=speed_ms * one, speed_sd_ms=0.05 * one,
        heading_rad=np.interp(at, s, heading), heading_sd_rad=0.02 * one,
        turn_rads=np.interp(at, s, curvature) * speed_ms, posterior=NoPosterior(), frame="arena",
    )  # fmt: skip
