"""Search for the best shift and lag, and how sure they are.

For every lag of a row the best shift is found; along that ridge the likelihood, the shift's own
doubt integrated out, is a function of the lag alone and is summed up as it is. Near nought it
depends on the square of the lag, so that no Gaussian would do.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import product
from typing import Final

import numpy as np
from scipy.interpolate import CubicSpline

from track.clocks_model import Course, Noise, Track, low_passed, trial
from track.path import Estimate, Floats

JITTERS_M: Final = (0.03, 0.06, 0.12, 0.25, 0.5, 1.0)
DRIFTS_M: Final = (0.02, 0.04, 0.08, 0.16, 0.32, 0.64)
FIRST_NOISE: Final = Noise(jitter_m=0.06, drift_m=0.08)
FIRST_LAGS_S: Final = (0.0, 0.25, 0.5, 0.8, 1.2, 1.8)
MOST_LAG_S: Final = 3.0
PLAIN_ODDS: Final = 1 / 3
"""A receiver that does not smooth against one that does [judgement]."""
USUAL_SPAN_S: Final = 1.5
"""Receivers that smooth do it over anything up to this [range of the accuracy goals]."""
_MOST_SLIP_S: Final = 2.5
"""A first guess of the shift, the lag taken off, is not further out than this."""
_SCAN_LAG_S: Final = 0.4
_SCAN_S: Final = np.arange(-0.7, 1.6, 0.35)
_NODES: Final = 8
_FINE: Final = 241
_WIDE: Final = 3.5
_RIPPLE: Final = 2.0
_TAILS: Final = 3.0
"""Degrees of freedom of the drift's Student law: positions jump when a wall or a tree comes
between, and a jump must not pass for a late turn."""
_MOST_ROUNDS: Final = 6
_REWEIGHINGS: Final = 3
_MOST_STEPS: Final = 5
_FIRST_REACH_S: Final = 0.1
_LEAST_REACH_S: Final = 0.03
_MOST_REACH_S: Final = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """Shift and lag, with the cost of the best (negative log of the likelihood)."""

    shift_s: Estimate
    lag_s: Estimate
    cost: float
    noise: Noise = FIRST_NOISE


@dataclass(frozen=True, slots=True, kw_only=True)
class Valley:
    """Best shift for one lag: place, standard deviation and cost."""

    shift_s: float
    sd_s: float
    cost: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Ridge:
    """Best shifts along a row of lags."""

    lag_s: Floats
    shift_s: Floats
    sd_s: Floats
    cost: Floats

    @property
    def best(self) -> tuple[float, float]:
        """Shift and lag of the cheapest."""
        i = int(np.argmin(self.cost))
        return float(self.shift_s[i]), float(self.lag_s[i])

    @property
    def inside(self) -> bool:
        """The cheapest is not at an end, unless that end is nought."""
        i = int(np.argmin(self.cost))
        return i < len(self.cost) - 1 and (i > 0 or self.lag_s[0] == 0.0)


def scanned(track: Track, course: Course, shift_s: float, noise: Noise) -> Pair:
    """Quick look about a first guess, which has the lag in it, at one middling lag."""
    shown = low_passed(course, _SCAN_LAG_S)
    costs = [trial(track, course, noise, shift_s + s, shown).cost for s in _SCAN_S.tolist()]
    i = int(np.argmin(costs))
    return Pair(
        shift_s=Estimate(value=shift_s + float(_SCAN_S[i]), sd=0.35),
        lag_s=Estimate(value=_SCAN_LAG_S, sd=0.5), cost=costs[i], noise=noise,
    )  # fmt: skip


def fitted(track: Track, course: Course, first: Pair) -> Pair:
    """Best shift and lag near what :func:`scanned` found, and their posterior.

    Parameters
    ----------
    track : Track
        ``loose`` is 1 but where signal was lost.
    course : Course
    first : Pair

    Returns
    -------
    Pair
        Means and standard deviations, the lag between nought and 3 s.
    """
    at, joints = (first.shift_s.value, first.lag_s.value), track.loose
    lags, noise = np.array(FIRST_LAGS_S), first.noise
    ridge = _ridge(track, course, noise, lags, at)
    for number in range(_MOST_ROUNDS):
        track = _reweighed(track, joints, course, noise, ridge.best)
        noise = _noise_of(track, course, noise, ridge.best)
        ridge = _ridge(track, course, noise, _nodes(ridge) if number else lags, ridge.best)
        if number and ridge.inside:
            break
    spread = track.loose / joints
    jumps = float(np.sum((_TAILS / 2) * (np.log(spread) + 1 / spread - 1)))
    return _posterior(ridge, jumps, noise)


def _reweighed(
    track: Track, joints: Floats, course: Course, noise: Noise, at: tuple[float, float]
) -> Track:
    """Loosen the track where it jumps, after Student's law (iterated weights of its maximum)."""
    shown = low_passed(course, at[1])
    for _ in range(_REWEIGHINGS):
        slip = trial(track, course, noise, at[0], shown).slip_m
        usual = slip**2 * track.loose / joints
        track = replace(track, loose=joints * (_TAILS + usual) / (_TAILS + 2))
    return track


def _noise_of(track: Track, course: Course, noise: Noise, at: tuple[float, float]) -> Noise:
    """Likeliest sizes of jitter and drift: downhill from neighbour to neighbour."""
    shown = low_passed(course, at[1])
    known: dict[tuple[int, int], float] = {}

    def cost(place: tuple[int, int]) -> float:
        if place not in known:
            sizes = Noise(jitter_m=JITTERS_M[place[0]], drift_m=DRIFTS_M[place[1]])
            known[place] = trial(track, course, sizes, at[0], shown).cost
        return known[place]

    here = (JITTERS_M.index(noise.jitter_m), DRIFTS_M.index(noise.drift_m))
    while True:
        near = [
            (here[0] + i, here[1] + j)
            for i, j in product((-1, 0, 1), repeat=2)
            if abs(i) + abs(j) < 2
            and 0 <= here[0] + i < len(JITTERS_M)
            and 0 <= here[1] + j < len(DRIFTS_M)
        ]
        best = min(near, key=cost)
        if best == here:
            return Noise(jitter_m=JITTERS_M[here[0]], drift_m=DRIFTS_M[here[1]])
        here = best


def _ridge(
    track: Track, course: Course, noise: Noise, lags_s: Floats, at: tuple[float, float]
) -> Ridge:
    """Best shifts for a rising row of lags, from the best known outwards."""
    middle = int(np.argmin(np.abs(lags_s - at[1])))
    found: dict[int, Valley] = {}
    for i in (*range(middle, len(lags_s)), *range(middle - 1, -1, -1)):
        near = i - 1 if i > middle else i + 1
        start, lag, reach = at[0], at[1], _FIRST_REACH_S
        if near in found:
            start, lag, reach = found[near].shift_s, float(lags_s[near]), 1.5 * found[near].sd_s
        # a low-pass is nearly a delay: the shift follows the lag
        start += 0.8 * (float(lags_s[i]) - lag)
        cost = _cost_of_shift(track, course, noise, float(lags_s[i]))
        found[i] = _valley(cost, start, reach)
    rows = [found[i] for i in range(len(lags_s))]
    return Ridge(
        lag_s=lags_s,
        shift_s=np.array([row.shift_s for row in rows]),
        sd_s=np.array([row.sd_s for row in rows]),
        cost=np.array([row.cost for row in rows]),
    )


def _cost_of_shift(
    track: Track, course: Course, noise: Noise, lag_s: float
) -> Callable[[float], float]:
    shown = low_passed(course, lag_s)
    return lambda shift_s: trial(track, course, noise, shift_s, shown).cost


def _valley(cost: Callable[[float], float], start_s: float, reach_s: float) -> Valley:
    """Lowest of parabolas through three shifts, moved and scaled until the lowest lies inside.

    They are laid through points one to two standard deviations apart, so that small ripples of
    the cost do not pass for certainty.
    """
    at, reach = start_s, float(np.clip(reach_s, _LEAST_REACH_S, _MOST_REACH_S))
    for _ in range(_MOST_STEPS):
        low, here, high = cost(at - reach), cost(at), cost(at + reach)
        bend = max(low + high - 2 * here, 1e-3)
        step = float(np.clip((low - high) / (2 * bend), -3.0, 3.0))
        sd = reach / float(np.sqrt(bend))
        lowest = float(np.clip(at + step * reach, start_s - _MOST_SLIP_S, start_s + _MOST_SLIP_S))
        gain = bend * min(abs(step), 1.0) ** 2 / 2
        valley = Valley(shift_s=lowest, sd_s=sd, cost=here - gain)
        if abs(step) < 1.0 and (sd < 3 * reach or reach >= _MOST_REACH_S):
            break
        at, reach = lowest, float(np.clip(1.5 * sd, _LEAST_REACH_S, _MOST_REACH_S))
    return valley


def _nodes(ridge: Ridge) -> Floats:
    """Lags worth a closer look: evenly over some standard deviations about the best.

    They come from a parabola in the square of the lag, on which the cost depends near nought.
    """
    if not ridge.inside:
        end, width = ridge.best[1], float(np.ptp(ridge.lag_s))
        return np.linspace(max(end - width, 0.0), min(end + width, MOST_LAG_S), _NODES)
    i = max(int(np.argmin(ridge.cost)), 1)
    square, cost = ridge.lag_s[i - 1 : i + 2] ** 2, ridge.cost[i - 1 : i + 2]
    bend, slope, _ = np.polyfit(square, cost, 2)
    if bend < 1e-3:
        return np.linspace(0.0, MOST_LAG_S, _NODES)
    middle, sd = -slope / (2 * bend), 1 / np.sqrt(2 * bend)
    # where the lowest would lie below nought, the cost is counted from nought
    top = middle + np.hypot(_WIDE * sd, max(-middle, 0.0))
    low, high = (float(np.sqrt(np.clip(u, 0.0, MOST_LAG_S**2))) for u in (middle - _WIDE * sd, top))
    return np.linspace(low, max(high, low + 0.05), _NODES)


def _posterior(ridge: Ridge, jumps: float, noise: Noise) -> Pair:
    """Means and standard deviations over all lags.

    Before, no smoothing at all has odds of its own; any other lag is as likely as the next.
    """
    lag_s = np.linspace(ridge.lag_s[0], ridge.lag_s[-1], _FINE)

    def along(values: Floats) -> Floats:
        return np.asarray(CubicSpline(ridge.lag_s, values)(lag_s))

    # A valley that ends on a ripple has no width of its own; its neighbours' is nearer the mark.
    sd_s = np.minimum(ridge.sd_s, _RIPPLE * np.median(ridge.sd_s))
    cost, shift = along(ridge.cost - np.log(sd_s)), along(ridge.shift_s)
    weight = np.exp(np.minimum(cost.min() - cost, 0.0))
    if lag_s[0] == 0.0:
        weight[0] *= 1 + PLAIN_ODDS * USUAL_SPAN_S / (lag_s[1] - lag_s[0])
    weight /= weight.sum()
    lag = _moments(weight, lag_s, 0.0)
    var = along(sd_s**2).clip(0.0)
    return Pair(
        shift_s=_moments(weight, shift, float(weight @ var)), lag_s=lag,
        cost=float(ridge.cost.min()) + jumps, noise=noise,
    )  # fmt: skip


def _moments(weight: Floats, values: Floats, within: float) -> Estimate:
    mean = float(weight @ values)
    return Estimate(value=mean, sd=float(np.sqrt(weight @ (values - mean) ** 2 + within)))


def either(pairs: tuple[Pair, ...]) -> Pair:
    """Several fits as one: each counted by its odds, the spread between them in the doubt.

    Examples
    --------
    >>> lag = Estimate(value=0.5, sd=0.1)
    >>> one = Pair(shift_s=Estimate(value=0.0, sd=0.1), lag_s=lag, cost=3.0)
    >>> two = Pair(shift_s=Estimate(value=8.0, sd=0.1), lag_s=lag, cost=3.0)
    >>> both = either((one, two)).shift_s
    >>> round(both.value, 2), round(both.sd, 2)
    (0.0, 5.66)
    """
    best = min(pairs, key=lambda pair: pair.cost)
    weight = np.exp(best.cost - np.array([pair.cost for pair in pairs]))
    weight /= weight.sum()

    def about(of: Estimate, others: list[Estimate]) -> Estimate:
        value, sd = (np.array([getattr(e, name) for e in others]) for name in ("value", "sd"))
        spread = weight @ ((value - of.value) ** 2 + sd**2)
        return Estimate(value=of.value, sd=float(np.sqrt(spread)))

    return Pair(
        shift_s=about(best.shift_s, [pair.shift_s for pair in pairs]),
        lag_s=about(best.lag_s, [pair.lag_s for pair in pairs]), cost=best.cost,
    )  # fmt: skip
