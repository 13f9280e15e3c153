"""Search for the best shift and lag, and how sure they are."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from scipy.special import erfcx

from track.clocks_model import Course, Noise, Track, low_passed, trial
from track.path import Estimate, Floats

JITTERS_M: Final = (0.03, 0.06, 0.12, 0.25, 0.5, 1.0)
DRIFTS_M: Final = (0.02, 0.04, 0.08, 0.16, 0.32, 0.64)
FIRST_LAGS_S: Final = (0.1, 0.4, 0.8, 1.3)
MOST_LAG_S: Final = 3.0
_TAILS: Final = 3.0
"""Degrees of freedom of the drift's Student law: positions jump when a wall or a tree comes
between, and a jump must not pass for a late turn."""
_ROUNDS: Final = 2
_REWEIGHINGS: Final = 4
_MOST_STEPS: Final = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """Shift and lag, with the cost of the best."""

    shift_s: Estimate
    lag_s: Estimate
    cost: float


def fitted(track: Track, course: Course, shift_s: float) -> Pair:
    """Best shift and lag near a first guess.

    A guess from correlation has the lag in it: the lines of equal sum are searched first.
    """
    noise = Noise(jitter_m=0.08, drift_m=0.06)
    costs = [
        trial(track, course, noise, shift_s + lag, low_passed(course, lag)).cost
        for lag in FIRST_LAGS_S
    ]
    lag = FIRST_LAGS_S[int(np.argmin(costs))]
    best = np.array([shift_s + lag, lag])
    joints = track.loose
    for _ in range(_ROUNDS):
        track = _reweighed(track, joints, course, noise, best)
        noise = _noise_of(track, course, noise, best)
        best = _descend(track, course, noise, best)
    return _posterior(track, course, noise, best)


def _reweighed(track: Track, joints: Floats, course: Course, noise: Noise, at: Floats) -> Track:
    """Loosen the track where it jumps, after Student's law (iterated weights of its maximum)."""
    shown = low_passed(course, float(at[1]))
    for _ in range(_REWEIGHINGS):
        slip = trial(track, course, noise, float(at[0]), shown).slip_m
        usual = slip**2 * track.loose / joints
        track = replace(track, loose=joints * (_TAILS + usual) / (_TAILS + 2))
    return track


def _descend(track: Track, course: Course, noise: Noise, at: Floats) -> Floats:
    """Step to the lowest of parabolas laid about the best so far, ever smaller."""
    best, reach = at, np.array([0.15, 0.15])
    for _ in range(_MOST_STEPS):
        middle, spread = _parabola(track, course, noise, best, reach)
        allowed = np.clip(middle[1], 0.0, MOST_LAG_S)
        slope = spread[0, 1] / spread[1, 1]
        target = np.array([middle[0] + slope * (allowed - middle[1]), allowed])
        step = target - best
        step /= max(float(np.max(np.abs(step) / (3 * reach))), 1.0)
        best = best + step
        if (np.abs(step) < 0.2 * np.sqrt(np.diag(spread))).all():
            break
        reach = np.clip(np.abs(step), 0.04, 0.15)
    return np.asarray(best)


def _noise_of(track: Track, course: Course, noise: Noise, at: Floats) -> Noise:
    """Likeliest sizes of jitter and drift, one after the other, twice."""
    shown = low_passed(course, float(at[1]))

    def cost(jitter: float, drift: float) -> float:
        sizes = Noise(jitter_m=jitter, drift_m=drift)
        return trial(track, course, sizes, float(at[0]), shown).cost

    jitter, drift = noise.jitter_m, noise.drift_m
    for _ in range(2):
        jitter = min(JITTERS_M, key=lambda j, d=drift: cost(j, d))  # type: ignore[misc]
        drift = min(DRIFTS_M, key=lambda d, j=jitter: cost(j, d))  # type: ignore[misc]
    return Noise(jitter_m=jitter, drift_m=drift)


def _posterior(track: Track, course: Course, noise: Noise, best: Floats) -> Pair:
    """Gaussian about the best, from a parabola through costs about it; the lag is never negative.

    The parabola is laid through points about one to two sd away, so that small ripples of the
    cost do not pass for certainty.
    """
    reach = np.array([0.05, 0.05])
    for _ in range(3):
        middle, spread = _parabola(track, course, noise, best, reach)
        sd = np.sqrt(np.diag(spread))
        if (sd < 3 * reach).all() and (sd > reach / 3).all():
            break
        reach = np.clip(1.5 * sd, 0.01, 2.0)
    cost = trial(track, course, noise, float(best[0]), low_passed(course, float(best[1]))).cost
    shift, lag = truncated(middle, spread)
    return Pair(shift_s=shift, lag_s=lag, cost=cost)


def _parabola(
    track: Track, course: Course, noise: Noise, best: Floats, reach: Floats
) -> tuple[Floats, Floats]:
    """Mean and covariance of exp(-cost), from nine points that keep the lag above nought."""
    centre = np.array([best[0], max(best[1], reach[1])])
    offsets = np.array([[a, b] for a in (-1.0, 0.0, 1.0) for b in (-1.0, 0.0, 1.0)])
    costs = np.zeros(9)
    for row in (-1.0, 0.0, 1.0):
        shown = low_passed(course, max(float(centre[1] + row * reach[1]), 0.0))
        for i in np.flatnonzero(offsets[:, 1] == row).tolist():
            shift = float(centre[0] + offsets[i, 0] * reach[0])
            costs[i] = trial(track, course, noise, shift, shown).cost
    a, b = offsets.T
    design = np.column_stack([np.ones(9), a, b, a * a / 2, a * b, b * b / 2])
    _, ga, gb, haa, hab, hbb = np.linalg.lstsq(design, costs - costs.min(), rcond=None)[0]
    bend = np.array([[haa, hab], [hab, hbb]])
    values, vectors = np.linalg.eigh(bend)
    values = np.maximum(values, 1e-3)
    covariance = vectors @ np.diag(1 / values) @ vectors.T
    middle = centre - reach * (covariance @ np.array([ga, gb]))
    return middle, covariance * np.outer(reach, reach)


def truncated(middle: Floats, spread: Floats) -> tuple[Estimate, Estimate]:
    """Means and sds of two Gaussian values when the second is known not to be negative.

    Examples
    --------
    >>> first, second = truncated(np.array([0.0, 0.0]), np.eye(2))
    >>> round(second.value, 4), round(second.sd, 4)
    (0.7979, 0.6028)
    """
    sd = float(np.sqrt(spread[1, 1]))
    z = float(middle[1]) / sd
    hazard = float(np.sqrt(2 / np.pi) / erfcx(-z / np.sqrt(2)))
    lag = float(middle[1]) + sd * hazard
    lag_var = sd**2 * max(1 - hazard * (hazard + z), 1e-4)
    slope = float(spread[0, 1] / spread[1, 1])
    shift = float(middle[0]) + slope * (lag - float(middle[1]))
    left = max(float(spread[0, 0]) - slope**2 * sd**2, 0.0)
    shift_var = left + slope**2 * lag_var
    return (
        Estimate(value=shift, sd=float(np.sqrt(shift_var))),
        Estimate(value=lag, sd=float(np.sqrt(lag_var))),
    )
