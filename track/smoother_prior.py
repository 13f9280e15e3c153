"""What is known of a ride's parameters before the path is fitted."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from track.path import Estimate, Floats
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
    TURN_SCALE,
    lag_slope,
    shift_of,
)

HELD_LAG_S: Final = 0.2
HELD_LAG_SD_S: Final = 0.35
"""What stands for the receiver's lag where nothing tells it [judgement]."""
BLUR_SD_S2: Final = 1e-4
"""How far the path may move the lag's square: not worth telling."""
EARLY_SD_S: Final = 0.5
"""How much sooner than the positions a receiver may report its speed [judgement]."""
HELD_SD: Final = 1e-6
"""Of a parameter that is not asked about."""


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
