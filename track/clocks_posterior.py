"""What the likelihood along a row of lags says of shift and lag: means and doubt.

Near nought the likelihood depends on the square of the lag, and before any ride a receiver may
well not smooth at all: no Gaussian would do, so it is summed up as it is.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.interpolate import CubicSpline

from track.clocks_law import FIRST_NOISE
from track.clocks_model import Noise
from track.path import Estimate, Floats

PLAIN_ODDS: Final = 1 / 3
"""A receiver that does not smooth against one that does [judgement]."""
USUAL_SPAN_S: Final = 1.5
"""Receivers that smooth do it over anything up to this [range of the accuracy goals]."""
_FINE: Final = 241
_RIPPLE: Final = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """Shift and lag, with the cost of the best (negative log of the likelihood)."""

    shift_s: Estimate
    lag_s: Estimate
    cost: float
    noise: Noise = FIRST_NOISE


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


def posterior(ridge: Ridge, jumps: float, noise: Noise) -> Pair:
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
