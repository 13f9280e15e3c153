"""The batch smoother: the most probable ride given everything measured, and its covariance.

Gauss-Newton on the normal equations of :mod:`track.smoother_factors`, with robust weights and
noise levels renewed between steps. Noise levels are learned from the ride itself by expectation
maximisation: the variance of a kind of residual is its weighted mean square plus what the
posterior covariance adds.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Final

import numpy as np

from track.evidence import Evidence
from track.path import Floats
from track.smoother_band import Factor, NormalEquations
from track.smoother_covariance import Solution
from track.smoother_factors import all_factors
from track.smoother_marginal import Volume, no_volume, volume
from track.smoother_noise import learned, own_curvature
from track.smoother_prior import HELD_SD, Prior
from track.smoother_receiver import filtered
from track.smoother_state import (
    BLUR,
    LEAST_LAG_S,
    PARAMETERS,
    STATES,
    Noise,
    State,
    X,
    Y,
    shift_of,
)

Extra = Callable[[State], Iterable[Factor]]
"""Factors that depend on the arena."""

MOST_LAG_S: Final = 2.0
MOST_STILL_M: Final = 0.1
"""A step that moves the path by less than this anywhere, half the least sd that any ride
reaches, and by less than a fifth of this on the whole, is the last. Whether the steps shorten
quickly is no safe guide: on the whole they may, and where boards come and go they need not."""
STILL_S: Final = 0.01
"""And the clocks by less than this."""
WORTH_SEARCH: Final = 3.0
"""Longer steps (in units of what is worth another) are shortened where they overshoot."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Smoothed:
    """A linearisation point that has settled, with its covariance."""

    state: State
    noise: Noise
    solution: Solution
    settled: bool
    room: Volume

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
    learn: tuple[int, ...] = (),
    room: Volume | None = None,
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
        At most so many; fewer when the path no longer moves.
    learn : tuple of int
        Steps after which the noise levels are renewed.
    room : Volume, optional
        The determinant's slope from a run before, until the first renewal.
    """
    settled, room = False, room or no_volume()
    known: list[Factor] | None = None
    for step in range(steps):
        factors = known or _factors(evidence, state, noise, extra)
        known = None
        solution, moves, ride_moves = _step(factors, state, prior, room)
        moved = _worth(state, moves, ride_moves)
        before, state = state, filtered(moved_state(state, moves, ride_moves, 1.0))
        if moved > WORTH_SEARCH:
            known = _factors(evidence, state, noise, extra)
            rise = _cost(known, factors, state, prior, room)
            rise -= _cost(factors, factors, before, prior, room)
            if rise > 0.0:
                share = _share(solution.gain, rise)
                state, known = filtered(moved_state(before, moves, ride_moves, share)), None
        if step in learn:
            noise = learned(noise, factors, solution)
            room, known = volume(factors, solution, before), None
        elif moved < 1.0 and step >= max(learn, default=0):
            settled = True
            break
    if evidence.yaw is None:
        factors = [own_curvature(f) for f in _factors(evidence, state, noise, extra)]
        solution, *_ = _step(factors, state, prior, room)
    return Smoothed(state=state, noise=noise, solution=solution, settled=settled, room=room)


def _factors(evidence: Evidence, state: State, noise: Noise, extra: Extra | None) -> list[Factor]:
    return [*all_factors(evidence, state, noise), *(extra(state) if extra else ())]


def _step(
    factors: list[Factor], state: State, prior: Prior, room: Volume
) -> tuple[Solution, Floats, Floats]:
    equations = NormalEquations(len(state.epochs), STATES, PARAMETERS)
    for factor in factors:
        equations.add(factor)
    for parameter in range(PARAMETERS):
        off = float(state.ride[parameter] - prior.value[parameter])
        equations.add_prior(parameter, off, float(prior.sd[parameter]))
    row, off = prior.shift_row(state.ride)
    equations.add_row(row, off, prior.shift_sd_s)
    blur_s2 = float(state.ride[BLUR])
    equations.add_slope(room.slope)
    for parameter in np.flatnonzero(prior.sd <= HELD_SD).tolist():
        equations.hold(parameter, float(prior.sd[parameter]))
    moves, ride_moves, solution = equations.solve(
        bounds={BLUR: (LEAST_LAG_S**2 - blur_s2, MOST_LAG_S**2 - blur_s2)},
    )
    return solution, moves, ride_moves


def moved_state(state: State, moves: Floats, ride_moves: Floats, share: float) -> State:
    """A share of the way along a step."""
    return State(epochs=state.epochs + share * moves, ride=state.ride + share * ride_moves)


def _worth(state: State, moves: Floats, ride_moves: Floats) -> float:
    """Length of a step in units of what is worth another."""
    squares = (moves[:, [X, Y]] ** 2).sum(axis=1)
    path = float(np.sqrt(max(squares.max(), 25 * squares.mean()))) / MOST_STILL_M
    clock = abs(shift_of(state.ride + ride_moves) - shift_of(state.ride)) / STILL_S
    return max(path, clock)


def _cost(
    here: list[Factor], weighed: list[Factor], state: State, prior: Prior, room: Volume
) -> float:
    """Half the weighted squares, with the robust weights of another point where they match."""
    total = 0.0
    for factor, other in zip(here, weighed, strict=True):
        same = len(factor.residual) == len(other.residual)
        total += float(((other.weight if same else factor.weight) * factor.residual**2).sum())
    total += float((((state.ride - prior.value) / prior.sd) ** 2).sum())
    total += (prior.shift_row(state.ride)[1] / prior.shift_sd_s) ** 2
    return total / 2 + float(room.slope @ state.ride)


def _share(gain: float, rise: float) -> float:
    """Share of a step at which a parabola through slope and end of the objective is least.

    Not for steps that do not raise it: the filtered places are worked out anew after every step,
    so that part of the gain foreseen never comes, and any step would be halved.
    """
    curve = rise + gain
    return float(np.clip(gain / (2 * curve), 0.15, 1.0)) if curve > 0 else 1.0
