"""The batch smoother: the most probable ride given everything measured, and its covariance.

Gauss-Newton on the normal equations of :mod:`track.smoother_factors`, with robust weights and
noise levels renewed between steps. Noise levels are learned from the ride itself by expectation
maximisation: the variance of a kind of residual is its weighted mean square plus what the
posterior covariance adds.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from track.evidence import Evidence
from track.path import Floats, Ints
from track.smoother_band import Factor, NormalEquations, Solution
from track.smoother_factors import (
    CLOCK,
    LAG,
    LEAST_LAG_S,
    OFFSET,
    PARAMETERS,
    PSI,
    ROT,
    SHIFT_X,
    SHIFT_Y,
    SPEED_SCALE,
    STATES,
    TURN_SCALE,
    Noise,
    State,
    V,
    W,
    X,
    Y,
    all_factors,
)

Extra = Callable[[State], Iterable[Factor]]
"""Factors that depend on the arena."""

LEVELS: Final = {
    "fix": ("fix_m", 0.03, 4.0),
    "drift": ("drift_rate", 0.03, 1.5),
    "speed": ("speed_ms", 0.03, 1.0),
    "speed_walk": ("speed_walk", 0.03, 1.0),
    "turn_walk": ("turn_walk", 0.03, 1.0),
    "turn": ("turn_rads", 0.004, 0.2),
}
"""Kind of factor: the noise level it teaches, its least and largest value."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Prior:
    """What is known of the ride's parameters beforehand: values and sd, shape (PARAMETERS,)."""

    value: Floats
    sd: Floats


def usual_prior(*, posed: bool = False, clock: tuple[float, float] = (0.0, 1e-3)) -> Prior:
    """Priors of a ride; the pose is held at nought unless ``posed``.

    The track offset is 0.8 m or so [common practice]; scales of speed and gyroscope are within a
    few per cent, receivers smooth over up to 1.5 s.
    """
    value, sd = np.zeros(PARAMETERS), np.full(PARAMETERS, 1e-6)
    if posed:
        sd[[ROT, SHIFT_X, SHIFT_Y]] = 10.0, 1e4, 1e4
    value[OFFSET], sd[OFFSET] = 0.8, 0.3
    sd[SPEED_SCALE], sd[TURN_SCALE] = 0.03, 0.02
    value[LAG], sd[LAG] = 0.3, 0.6
    value[CLOCK], sd[CLOCK] = clock
    return Prior(value=value, sd=sd)


@dataclass(frozen=True, slots=True, kw_only=True)
class Smoothed:
    """A linearisation point that has settled, with its covariance."""

    state: State
    noise: Noise
    solution: Solution
    settled: bool

    def parameter_sd(self, parameter: int) -> float:
        """Standard uncertainty of one of the ride's parameters."""
        return float(np.sqrt(self.solution.border[parameter, parameter]))


def smooth(
    evidence: Evidence,
    state: State,
    noise: Noise,
    prior: Prior,
    *,
    extra: Extra | None = None,
    steps: int = 6,
    cautious: int = 1,
    learn: tuple[int, ...] = (),
) -> Smoothed:
    """Run Gauss-Newton steps from a starting point.

    Parameters
    ----------
    evidence : Evidence
    state : State
        Where to start.
    noise : Noise
    prior : Prior
    extra : callable, optional
        Further factors at a linearisation point, such as the boards.
    steps : int
        At most so many; fewer when the path no longer moves by 2 cm.
    cautious : int
        So many first steps are damped.
    learn : tuple of int
        Steps after which the noise levels are renewed.
    """
    settled = False
    for step in range(steps):
        factors = list(all_factors(evidence, state, noise))
        factors += list(extra(state)) if extra else []
        solution, moved, state = _step(factors, state, prior, damped=step < cautious)
        if step in learn:
            noise = learned(noise, factors, solution)
        elif moved < 0.02 and step >= max((*learn, cautious)):
            settled = True
            break
    return Smoothed(state=state, noise=noise, solution=solution, settled=settled)


def _step(
    factors: list[Factor], state: State, prior: Prior, *, damped: bool
) -> tuple[Solution, float, State]:
    equations = NormalEquations(len(state.epochs), STATES, PARAMETERS)
    for factor in factors:
        equations.add(factor)
    for parameter in range(PARAMETERS):
        off = float(state.ride[parameter] - prior.value[parameter])
        equations.add_prior(parameter, off, float(prior.sd[parameter]))
    if damped:
        hold = np.zeros(STATES)
        hold[[X, Y, PSI, V, W]] = 0.1, 0.1, 100.0, 4.0, 10.0
        equations.damp(hold)
    moves, ride_moves, solution = equations.solve({LAG: LEAST_LAG_S - float(state.ride[LAG])})
    ride = state.ride + ride_moves
    moved = float(np.abs(moves[:, [X, Y]]).max())
    return solution, moved, State(epochs=state.epochs + moves, ride=ride)


def learned(noise: Noise, factors: list[Factor], solution: Solution) -> Noise:
    """Noise levels that explain the residuals, posterior covariance counted in.

    One round of expectation maximisation (Dempster, Laird and Rubin 1977 [recalled]) per call; a
    handful of pseudo-observations at the present level keeps short rides from running away.
    """
    sums: dict[str, list[float]] = {}
    for factor in factors:
        if factor.kind in LEVELS:
            squares = factor.weight * (factor.residual**2 + _spread(factor, solution))
            total = sums.setdefault(factor.kind, [0.0, 0.0])
            total[0] += float(squares.sum())
            total[1] += len(squares)
    levels = {}
    for kind, (ratio_sum, count) in sums.items():
        name, low, high = LEVELS[kind]
        ratio = (ratio_sum + 10.0) / (count + 10.0)
        levels[name] = float(np.clip(getattr(noise, name) * np.sqrt(ratio), low, high))
    return replace(noise, **levels)


def _spread(factor: Factor, solution: Solution) -> Floats:
    """Variance of each residual under the posterior of the states (parameters held)."""
    diagonal, below = solution.selected
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
