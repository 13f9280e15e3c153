"""How well a clock shift and a receiver lag explain the fixes, heading taken from the gyroscope.

The fixes are modelled as a path whose direction is the motion's own heading, passed through the
receiver's first-order low-pass, on top of an error that drifts:

    X[i+1] = X[i] + c[i] D[i] + drift,        y[i] = X[i] + jitter,        c[i+1] = c[i] + change

with D the low-passed unit steps of the heading between two fixes and c the unknown speed times
the unknown rotation between the two frames, both slow. Positions are complex numbers, east the
real part. Everything is linear and Gaussian but the shift and the lag, so that their likelihood,
all else integrated out, comes from one banded Cholesky factor.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, TypeVar

import numpy as np
from numpy.typing import ArrayLike
from scipy.linalg import cho_solve_banded, cholesky_banded
from scipy.ndimage import gaussian_filter1d
from scipy.signal import lfilter

from track.attitude import Complexes
from track.evidence import SOFTENED_S2, sharpened
from track.motion import Motion
from track.path import Floats, Ints

Values = TypeVar("Values", Floats, Complexes)

RATE_HZ: Final = 12.5
_STEADY_MS2: Final = 0.15
"""Change of speed, m/s in a root second, while the gait stays the same."""
_CHANGE_SHARE: Final = 1.5
"""Change of speed, m/s, per unit of change in log activity: halt to walk is about 1, walk to trot
another 1."""
_UNEVEN_MS2: Final = 0.05
"""Change of the ratio of speed to effort, in a root second."""
FASTEST_MS: Final = 5.0
_LOOSE: Final = 1e-6
_FREE_MS: Final = 4.0
"""How fast the path may go where the motion says nothing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """What the motion says of the course, at 12.5 Hz on its own clock.

    Attributes
    ----------
    t_s : array, shape (n,), s
    unit : array of complex, shape (n,)
        Direction of travel, 0 where the body stands.
    change : array, shape (n,), m²/s²
        Running variance of what the speed may do.
    unknown : array, shape (n,), s
        Running time in which nothing is known: gaps, handling.
    """

    t_s: Floats
    unit: Complexes
    change: Floats
    unknown: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Track:
    """Fixes to be explained.

    Attributes
    ----------
    t_s : array, shape (k,), s
    y_m : array of complex, shape (k,), m
    loose : array, shape (k - 1,)
        Factor on the variance of the drift between two fixes.
    """

    t_s: Floats
    y_m: Complexes
    loose: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Noise:
    """Sizes of the fixes' errors: jitter m, drift m in a root second."""

    jitter_m: float
    drift_m: float


def _thinned(values: ArrayLike, step: int) -> Floats:
    """Means over blocks of ``step`` samples; what is left over at the end is dropped."""
    kept = np.asarray(values, dtype=np.float64)
    count = len(kept) // step
    return np.asarray(kept[: count * step].reshape(count, step).mean(axis=1))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Thin:
    """Motion at the rate that the course is worked out at."""

    t_s: Floats
    rate_hz: float
    moving: Floats
    level: Floats
    unknown: Floats
    step: int


def _thin(motion: Motion) -> _Thin:
    step = max(round(motion.rate_hz / RATE_HZ), 1)
    rate = motion.rate_hz / step
    blind = _thinned(~motion.valid, step)
    level = _thinned(np.log1p(motion.activity_ms2), step)
    return _Thin(
        t_s=_thinned(motion.t_s, step), rate_hz=rate, step=step,
        moving=gaussian_filter1d(_thinned(~motion.still, step), 0.4 * rate),
        level=gaussian_filter1d(level, 0.6 * rate),
        unknown=(np.cumsum(blind) - blind / 2) / rate,
    )  # fmt: skip


def course_of(motion: Motion) -> Course:
    """Heading of the trunk integrated, its smoothing over a stride undone."""
    thin = _thin(motion)
    turn = _thinned(np.where(motion.valid, np.nan_to_num(motion.turn_rads), 0.0), thin.step)
    stride = _thinned(np.where(np.isfinite(motion.stride_s), motion.stride_s, 1.0), thin.step)
    heading = (np.cumsum(turn) - turn / 2) / thin.rate_hz
    # a box of one stride and a Gaussian of 0.12 s have this variance
    spread = gaussian_filter1d(stride, thin.rate_hz) ** 2 / 12 + SOFTENED_S2
    heading = sharpened(heading, thin.rate_hz, spread)
    pace = np.gradient(thin.level) * thin.rate_hz
    return Course(
        t_s=thin.t_s, unit=thin.moving * np.exp(1j * heading), unknown=thin.unknown,
        change=np.cumsum(_STEADY_MS2**2 + (_CHANGE_SHARE * pace) ** 2) / thin.rate_hz,
    )  # fmt: skip


def low_passed(course: Course, lag_s: float) -> Complexes:
    """Path of unit speed as a receiver with that lag shows it."""
    rate = 1 / float(course.t_s[1] - course.t_s[0])
    path = (np.cumsum(course.unit) - course.unit / 2) / rate
    if lag_s < 1e-3:
        return np.asarray(path)
    # exact for a signal that is linear between samples
    decay = np.exp(-1 / (rate * lag_s))
    blend = 1 - lag_s * rate * (1 - decay)
    taps = [blend, (1 - decay) - blend]
    start = path[0] - course.unit[0] * lag_s
    shown, _ = lfilter(taps, [1.0, -decay], path, zi=np.array([start - blend * path[0]]))
    return np.asarray(shown)


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit:
    """Outcome of one trial.

    Attributes
    ----------
    cost : float
        Negative log likelihood, all slow unknowns integrated out.
    slip_m : array, shape (k - 1,), m
        Drift needed between fixes, in units of its expected size.
    """

    cost: float
    slip_m: Floats


def trial(track: Track, course: Course, noise: Noise, shift_s: float, shown: Complexes) -> Fit:
    """Likelihood of one shift (motion clock minus position clock) and one lag.

    ``shown`` is :func:`low_passed` for that lag; it costs more than the rest and often stays.
    """
    wanted = track.t_s + shift_s
    at = np.clip(wanted, course.t_s[0], course.t_s[-1])
    below = np.searchsorted(course.t_s[1:-1], at, side="right")
    share = (at - course.t_s[below]) / (course.t_s[below + 1] - course.t_s[below])
    blind = np.diff(_between(course.unknown, below, share)) + np.abs(np.diff(wanted - at))
    step = np.diff(_between(shown, below, share))
    change = np.diff(_between(course.change, below, share))
    dt = np.diff(track.t_s)
    hold = 1 / (noise.drift_m**2 * dt * track.loose + (_FREE_MS * blind) ** 2)
    calm = 1 / (change[:-1] + change[1:] + _LOOSE) * 2
    return _marginal(track.y_m - track.y_m.mean(), step, hold, calm, noise.jitter_m)


def _between(values: Values, below: Ints, share: Floats) -> Values:
    """Linear interpolation, the places in the row being known."""
    return values[below] * (1 - share) + values[below + 1] * share


def _marginal(y: Complexes, step: Complexes, hold: Floats, calm: Floats, jitter: float) -> Fit:
    """Integrate out positions and speed; unknowns in the order X0 c0 X1 c1 ... (lower band)."""
    k = len(y)
    band = np.zeros((3, 2 * k), dtype=np.complex128)
    sure = 1 / jitter**2
    band[0, 0::2] = sure
    band[0, 0:-2:2] += hold
    band[0, 2::2] += hold
    band[0, 1:-2:2] += hold * np.abs(step) ** 2
    # No horse is faster than a few times this. Said once: at every fix it would favour the speeds,
    # and with them the lags, that are least.
    band[0, [1, -1]] += 1 / FASTEST_MS**2
    band[0, 1:-4:2] += calm
    band[0, 3:-2:2] += calm
    band[1, 0:-2:2] = np.conj(hold * step)  # [c_i, X_i]
    band[1, 1:-2:2] = -hold * step  # [X_i+1, c_i]
    band[2, 0:-2:2] = -hold
    band[2, 1:-4:2] = -calm
    right = np.zeros(2 * k, dtype=np.complex128)
    right[0::2] = sure * y
    factor = cholesky_banded(band, lower=True, overwrite_ab=True, check_finite=False)
    solution = cho_solve_banded((factor, True), right, check_finite=False)
    logdet = 2 * float(np.sum(np.log(factor[0].real)))
    misfit = float(sure * np.sum(np.abs(y) ** 2) - np.real(np.vdot(right, solution)))
    scale = 2 * k * np.log(jitter) - float(np.sum(np.log(hold)) + np.sum(np.log(calm)))
    slip = solution[2::2] - solution[0:-2:2] - step * solution[1:-2:2]
    return Fit(cost=misfit / 2 + logdet + scale, slip_m=np.abs(slip) * np.sqrt(hold))


def pace_of(motion: Motion, log_activity: Floats, speed_ms: Floats) -> Course:
    """Stand-in for the course where there is no gyroscope: how far, not which way.

    Parameters
    ----------
    motion : Motion
    log_activity, speed_ms : array, shape (k,)
        A rising curve from the log of activity to speed, learned from this ride.
    """
    thin = _thin(motion)
    unit = thin.moving * np.interp(thin.level, log_activity, speed_ms)
    return Course(
        t_s=thin.t_s, unit=unit.astype(np.complex128), unknown=thin.unknown,
        change=_UNEVEN_MS2**2 * (thin.t_s - thin.t_s[0]),
    )  # fmt: skip
