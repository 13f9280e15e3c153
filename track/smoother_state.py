"""The states of the smoother and the parameters of a ride, and how its clocks follow from them.

States of an epoch, in the frame the path is wanted in::

    X, Y      where the rider's body is, m
    PSI       heading, rad
    V         speed, m/s
    W         turn rate, rad/s
    BX, BY    the receiver's slow error, m
    MX, MY    the body's place as the receiver's own smoothing shows it, m
    G         the gyroscope's slow error, rad/s

Parameters of the ride: the pose of the fixes in the frame, the track offset, the scales of speed
and turn rate; BLUR, the square of the receiver's time constant, and DELAY, the motion clock's
shift less that time constant; EARLY, how much sooner than the positions the speed column comes.
A first-order low-pass is to first order a delay, which cannot be
told from a shift of the clocks, and to second order a blur with the square of its time constant:
in these two the problem is close to linear.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from track.path import Floats

X, Y, PSI, V, W, BX, BY, MX, MY, G = range(10)
STATES: Final = 10
ROT, SHIFT_X, SHIFT_Y, OFFSET, SPEED_SCALE, TURN_SCALE, BLUR, DELAY, EARLY = range(9)
PARAMETERS: Final = 9

LEAST_LAG_S: Final = 0.01
BLUR_SPAN_S2: Final = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class Noise:
    """Standard deviations of everything that is random.

    Attributes
    ----------
    fix_m : float
        One fix, per axis, apart from the slow error.
    drift_m, drift_rate : float
        The slow error's long-run sd, m, and its random walk, m per root second.
    speed_ms, course_speed_ms : float
        Measured speed, and measured velocity per axis.
    speed_walk, turn_walk : float
        Changes of speed and turn rate, m/s and rad/s per root second.
    sway_m : float
        How far the body strays from a constant-turn arc in one epoch, per axis.
    turn_rads : float
        Mean turn rate over one epoch.
    """

    fix_m: float = 0.4
    drift_m: float = 2.0
    drift_rate: float = 0.3
    speed_ms: float = 0.2
    speed_walk: float = 0.1
    turn_walk: float = 0.25
    sway_m: float = 0.03
    turn_rads: float = 0.02
    turn_drift_rads: float = 0.004
    turn_drift_s: float = 300.0


@dataclass(frozen=True, slots=True, kw_only=True)
class State:
    """A linearisation point.

    Attributes
    ----------
    epochs : array, shape (n, STATES)
    ride : array, shape (PARAMETERS,)
    """

    epochs: Floats
    ride: Floats


def lag_of(ride: Floats) -> float:
    """Time constant of the receiver's low-pass, s."""
    return float(np.sqrt(max(float(ride[BLUR]), LEAST_LAG_S**2)))


def blurs_about(ride: Floats) -> tuple[float, float, float]:
    """Lags below and above the present one, and how far apart their squares are.

    The derivative by the square is taken over this span: at no lag at all a lag's effects as a
    delay and as a shift of the clocks both change without bound, and cancel only over a span.
    """
    square = lag_of(ride) ** 2
    low, high = max(square - BLUR_SPAN_S2, LEAST_LAG_S**2), square + BLUR_SPAN_S2
    return float(np.sqrt(low)), float(np.sqrt(high)), high - low


def lag_slope(ride: Floats) -> float:
    """Change of the lag with its square, 1/s."""
    low, high, apart_s2 = blurs_about(ride)
    return (high - low) / apart_s2


def shift_of(ride: Floats) -> float:
    """What is subtracted from the motion clock to lie on the positions' clock, s."""
    return float(ride[DELAY]) + lag_of(ride)


def late_of(ride: Floats) -> float:
    """Time constant of the low-pass in the speed column, s: its own, none at the least."""
    return max(lag_of(ride) - float(ride[EARLY]), 0.0)
