"""Noise levels that a ride teaches, and what robust laws tell at the most probable path."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np

from track.smoother_band import HEAVY_TAIL, Factor
from track.smoother_covariance import Solution
from track.smoother_factors import STEADY_TAIL
from track.smoother_marginal import spread
from track.smoother_receiver import FIX_TAIL
from track.smoother_state import Noise

LEVELS: Final = {
    "fix": ("fix_m", 0.03, 4.0),
    "drift": ("drift_rate", 0.03, 1.5),
    "speed": ("speed_ms", 0.03, 1.0),
    "speed_walk": ("speed_walk", 0.03, 1.0),
    "turn_walk": ("turn_walk", 0.03, 1.0),
}
"""Kind of factor: the noise level it teaches, its least and largest value."""
TAUGHT: Final = {"speed": 0.79}
"""Mean of the weighted square, 5 z^2 / (4 + z^2), of Gaussian noise: with it the level taught is
the noise's own sd. At the law's own scale, the weights coming from the same residuals, a measured
speed would count a third more than it tells."""
TAILS: Final = {
    "fix": (FIX_TAIL, 2),
    "speed": (HEAVY_TAIL, 1),
    "speed_walk": (STEADY_TAIL, 1),
    "turn_walk": (HEAVY_TAIL, 1),
}
"""Kind of factor: degrees of freedom of its t-distribution, and numbers to a residual."""
LEAST_CURVATURE: Final = 0.01
"""Beyond a t-distribution's shoulders its logarithm bends the other way: there it tells nothing."""


def learned(noise: Noise, factors: list[Factor], solution: Solution) -> Noise:
    """Noise levels that explain the residuals, posterior covariance counted in.

    One round of expectation maximisation (Dempster, Laird and Rubin 1977 [recalled]) per call; a
    handful of pseudo-observations at the present level keeps short rides from running away.
    """
    sums: dict[str, list[float]] = {}
    for factor in factors:
        if factor.kind in LEVELS:
            squares = factor.weight * (factor.residual**2 + spread(factor, solution))
            total = sums.setdefault(factor.kind, [0.0, 0.0])
            total[0] += float(squares.sum())
            total[1] += len(squares)
    levels = {}
    for kind, (ratio_sum, count) in sums.items():
        name, low, high = LEVELS[kind]
        # The variance times the square of the ratio: twice the step of plain expectation
        # maximisation, which creeps where a level is much smaller than it was taken for.
        ratio = (ratio_sum / TAUGHT.get(kind, 1.0) + 10.0) / (count + 10.0)
        levels[name] = float(np.clip(getattr(noise, name) * ratio, low, high))
    return replace(noise, **levels)


def own_curvature(factor: Factor) -> Factor:
    """The same with the curvature of its t-distribution in place of its robust weight.

    The weight (f + n) / (f + z^2) finds the mode; there the log density bends by (f - z^2) /
    (f + z^2) of that. What is known of a place is in the bend: by weights alone a transition whose
    instant is anybody's guess seems known. With turn rates the shape is held by the gyroscope,
    and it makes no difference worth another solution.
    """
    if factor.kind not in TAILS:
        return factor
    freedom, numbers = TAILS[factor.kind]
    bend = 2.0 * freedom / (freedom + numbers) * factor.trust - 1.0
    return replace(factor, weight=factor.weight * np.maximum(bend, LEAST_CURVATURE))
