"""Search for the best shift of the clocks for every lag of a row of lags.

Along that ridge the likelihood, the shift's own doubt integrated out, is a function of the lag
alone; :mod:`track.clocks_posterior` sums it up.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np

from track.clocks_law import law_about, likeliest_law
from track.clocks_model import Course, Noise, Track, low_passed, trial
from track.clocks_posterior import Pair, Ridge, posterior
from track.path import Estimate, Floats

FIRST_LAGS_S: Final = (0.0, 0.25, 0.5, 0.8, 1.2, 1.8)
MOST_LAG_S: Final = 3.0
_MOST_SLIP_S: Final = 2.5
"""A first guess of the shift, the lag taken off, is not further out than this."""
_SCAN_LAG_S: Final = 0.4
_SCAN_S: Final = np.arange(-0.7, 1.6, 0.35)
_NODES: Final = 8
_WIDE: Final = 3.5
_MOST_ROUNDS: Final = 5
_MOST_STEPS: Final = 5
_FIRST_REACH_S: Final = 0.1
_LEAST_REACH_S: Final = 0.03
_MOST_REACH_S: Final = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Valley:
    """Best shift for one lag: place, standard deviation and cost."""

    shift_s: float
    sd_s: float
    cost: float


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
    at, noise = (first.shift_s.value, first.lag_s.value), first.noise
    lags = np.array(FIRST_LAGS_S)
    ridge = _ridge(track, course, noise, lags, at)
    law = likeliest_law(track, course, noise, ridge.best)
    ridge = _ridge(law.track, course, law.noise, lags, ridge.best)
    for _ in range(_MOST_ROUNDS):
        law = law_about(law, track.loose, course, ridge.best)
        ridge = _ridge(law.track, course, law.noise, _nodes(ridge), ridge.best)
        if ridge.inside:
            break
    return posterior(ridge, law.jump_cost(track.loose), law.noise)


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

    They come from a parabola in the square of the lag, on which the cost depends near nought;
    where it has no lowest, from the lags looked at that cost too much.
    """
    if not ridge.inside:
        end, width = ridge.best[1], float(np.ptp(ridge.lag_s))
        return np.linspace(max(end - width, 0.0), min(end + width, MOST_LAG_S), _NODES)
    i = max(int(np.argmin(ridge.cost)), 1)
    square, cost = ridge.lag_s[i - 1 : i + 2] ** 2, ridge.cost[i - 1 : i + 2]
    bend, slope, _ = np.polyfit(square, cost, 2)
    if bend < 1e-3:
        return np.linspace(*_bounds(ridge), _NODES)
    middle, sd = -slope / (2 * bend), 1 / np.sqrt(2 * bend)
    # where the lowest would lie below nought, the cost is counted from nought
    top = middle + np.hypot(_WIDE * sd, max(-middle, 0.0))
    low, high = (float(np.sqrt(np.clip(u, 0.0, MOST_LAG_S**2))) for u in (middle - _WIDE * sd, top))
    return np.linspace(low, max(high, low + 0.05), _NODES)


def _bounds(ridge: Ridge) -> tuple[float, float]:
    """The nearest lags either side of the best that cost too much."""
    dear = ridge.cost > ridge.cost.min() + _WIDE**2 / 2
    below, above = ridge.lag_s < ridge.best[1], ridge.lag_s > ridge.best[1]
    low = ridge.lag_s[dear & below].max(initial=0.0)
    high = ridge.lag_s[dear & above].min(initial=MOST_LAG_S)
    return float(low), float(high)
