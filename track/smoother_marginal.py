"""What the most probable path hides about the ride's parameters.

The most probable path and parameters together favour parameters under which the path is held
tightest, such as a low scale of the speed. What is wanted is the most probable parameters whatever
the path: to the objective belongs half the logarithm of the determinant of the path's precision
(Laplace's approximation of the marginal likelihood, Tierney and Kadane 1986 [recalled]). The lag
changes it too, but is told before and held; of the scales that of the speed counts.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from track.path import Floats, Ints
from track.smoother_band import Factor
from track.smoother_covariance import Solution
from track.smoother_state import PARAMETERS, SPEED_SCALE, State

SCALES: Final = {"speed": SPEED_SCALE}


@dataclass(frozen=True, slots=True, kw_only=True)
class Volume:
    """Half the log determinant of the path's precision, to first order in the parameters.

    Attributes
    ----------
    slope : array, shape (PARAMETERS,)
        First derivatives. Second derivatives are left out: they would only sharpen what is known.
    """

    slope: Floats


def no_volume() -> Volume:
    """Nothing known yet: the most probable path and parameters together."""
    return Volume(slope=np.zeros(PARAMETERS))


def volume(factors: list[Factor], solution: Solution, state: State) -> Volume:
    """The determinant's dependence on the parameters at a linearisation point."""
    slope = np.zeros(PARAMETERS)
    for factor in factors:
        if factor.kind in SCALES:
            scale = SCALES[factor.kind]
            held = float((factor.weight * spread(factor, solution)).sum())
            slope[scale] += held / (1 + state.ride[scale])
    return Volume(slope=slope)


def spread(factor: Factor, solution: Solution) -> Floats:
    """Variance of each residual under the posterior of the states, parameters held."""
    diagonal, below = solution.chain.selected
    where = factor.where
    at: Ints = np.arange(where.start, where.stop) if isinstance(where, slice) else where
    total = np.zeros(len(at))
    for i, (offset, state, slope) in enumerate(factor.terms):
        for other_offset, other_state, other_slope in factor.terms[: i + 1]:
            if offset == other_offset:
                shared = diagonal[at + offset, state, other_state]
            elif offset > other_offset:
                shared = below[at, state, other_state]
            else:
                shared = below[at, other_state, state]
            twice = 1.0 if (offset, state) == (other_offset, other_state) else 2.0
            total += twice * slope * other_slope * shared
    return total
