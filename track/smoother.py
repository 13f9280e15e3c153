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
from track.path import Estimate, Floats
from track.smoother_band import HEAVY_TAIL, Factor, NormalEquations
from track.smoother_covariance import Solution
from track.smoother_factors import STEADY_TAIL, all_factors
from track.smoother_marginal import Volume, no_volume, spread, volume
from track.smoother_receiver import FIX_TAIL, filtered
from track.smoother_state import (
    BLUR,
    DELAY,
    EARLY,
    LEAST_LAG_S,
    OFFSET,
    PARAMETERS,
    ROT,
    SHIFT_X,
    SHIFT_Y,
    SPEED_SCALE,
    STATES,
    TURN_SCALE,
    Noise,
    State,
    X,
    Y,
    lag_slope,
    shift_of,
)

Extra = Callable[[State], Iterable[Factor]]
"""Factors that depend on the arena."""

MOST_LAG_S: Final = 2.0
HELD_LAG_S: Final = 0.2
HELD_LAG_SD_S: Final = 0.35
"""What stands for the receiver's lag where nothing tells it [judgement]."""
BLUR_SD_S2: Final = 1e-4
"""How far the path may move the lag's square: not worth telling."""
EARLY_SD_S: Final = 0.5
"""How much sooner than the positions a receiver may report its speed [judgement]."""
MOST_STILL_M: Final = 0.1
"""A step that moves the path by less than this anywhere, half the least sd that any ride
reaches, and by less than a fifth of this on the whole, is the last. Whether the steps shorten
quickly is no safe guide: on the whole they may, and where boards come and go they need not."""
STILL_S: Final = 0.01
"""And the clocks by less than this."""
TAILS: Final = {
    "fix": (FIX_TAIL, 2),
    "speed": (HEAVY_TAIL, 1),
    "speed_walk": (STEADY_TAIL, 1),
    "turn_walk": (HEAVY_TAIL, 1),
}
"""Kind of factor: degrees of freedom of its t-distribution, and numbers to a residual."""
LEAST_CURVATURE: Final = 0.01
"""Beyond a t-distribution's shoulders its logarithm bends the other way: there it tells nothing."""
HELD_SD: Final = 1e-6
"""Of a parameter that is not asked about."""
WORTH_SEARCH: Final = 3.0
"""Longer steps (in units of what is worth another) are shortened where they overshoot."""

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


@dataclass(frozen=True, slots=True, kw_only=True)
class Prior:
    """What is known of the ride's parameters beforehand.

    Attributes
    ----------
    value, sd : array, shape (PARAMETERS,)
    shift_s, shift_sd_s : float, s
        Of the motion clock's shift, which is no parameter of its own but a sum.
    """

    value: Floats
    sd: Floats
    shift_s: float
    shift_sd_s: float

    def shift_row(self, ride: Floats) -> tuple[Floats, float]:
        """Derivative of the shift by the parameters, and its distance from what is known."""
        row = np.zeros(PARAMETERS)
        row[DELAY], row[BLUR] = 1.0, lag_slope(ride)
        return row, shift_of(ride) - self.shift_s


@dataclass(frozen=True, slots=True, kw_only=True)
class ClockPrior:
    """What laying the clocks together has told before the path is fitted.

    Attributes
    ----------
    shift : Estimate, s
        Of the motion clock.
    lag : Estimate, s
        The receiver's time constant.
    held : bool
        True without turns: the path would say of the lag what is not there, and keeps it.
    """

    shift: Estimate
    lag: Estimate
    held: bool

    @property
    def blur_sd_s2(self) -> float:
        """Standard uncertainty of the lag's square, over one sd of the lag either way."""
        high, low = self.lag.value + self.lag.sd, max(self.lag.value - self.lag.sd, 0.0)
        return max((high**2 - low**2) / 2, LEAST_LAG_S**2)


HELD: Final = ClockPrior(
    shift=Estimate(value=0.0, sd=1e-4), lag=Estimate(value=HELD_LAG_S, sd=HELD_LAG_SD_S), held=True
)
"""Positions alone: one clock, and no turns that tell the lag."""


def usual_prior(*, posed: bool = False, clock: ClockPrior = HELD) -> Prior:
    """Priors of a ride; the pose is held at nought unless ``posed``.

    The track offset is 0.8 m or so [common practice]; scales of speed and gyroscope are within a
    few per cent. Of the receiver's lag the fixes' own likelihood, summed over all lags, has told
    what can be told, no smoothing at all among them: it stays. The most probable path would draw
    a lag of some tenths to nought, and one of nought to a tenth or two.
    """
    value, sd = np.zeros(PARAMETERS), np.full(PARAMETERS, HELD_SD)
    if posed:
        sd[[ROT, SHIFT_X, SHIFT_Y]] = 10.0, 1e4, 1e4
    value[OFFSET], sd[OFFSET] = 0.8, 0.3
    sd[SPEED_SCALE], sd[TURN_SCALE] = 0.03, 0.02
    value[BLUR], sd[BLUR] = clock.lag.value**2, BLUR_SD_S2
    value[DELAY], sd[DELAY] = clock.shift.value, 100.0
    # A speed from the carrier's shift comes at once, one from smoothed positions as late as they.
    value[EARLY], sd[EARLY] = 0.0, EARLY_SD_S
    return Prior(value=value, sd=sd, shift_s=clock.shift.value, shift_sd_s=clock.shift.sd)


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
        factors = [_own_curvature(f) for f in _factors(evidence, state, noise, extra)]
        solution, *_ = _step(factors, state, prior, room)
    return Smoothed(state=state, noise=noise, solution=solution, settled=settled, room=room)


def _own_curvature(factor: Factor) -> Factor:
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
