"""What the receiver shows of a ride: fixes, speed and course, each through its smoothing."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.signal import lfilter

from track.evidence import EPOCH_S, Evidence, on_epochs
from track.path import Floats, Ints
from track.smoother_band import BorderTerm, Factor, Term, factor_of, heavy
from track.smoother_state import (
    BLUR,
    BX,
    BY,
    DELAY,
    EARLY,
    LEAST_LAG_S,
    MX,
    MY,
    PSI,
    ROT,
    SHIFT_X,
    SHIFT_Y,
    SPEED_SCALE,
    Noise,
    State,
    V,
    X,
    Y,
    blurs_about,
    lag_of,
    lag_slope,
    late_of,
    shift_of,
)

FIX_TAIL: Final = 8.0
"""Degrees of freedom of a fix's law: a wild one still counts for nothing, but what drifts quickly
is not written off as wild, which would leave the drift, and all that leans on it, too sure."""
FILTER_M: Final = 0.01
"""How well a first-order low-pass can be written from epoch to epoch, sd."""


def low_pass(lag_s: float) -> Floats:
    """Coefficients of a first-order low-pass over one epoch, exact for a cubic input.

    Returns
    -------
    array, shape (5,)
        Of the filtered value before, of the input before and after, and of the input's step
        (speed times the epoch) before and after: cubic Hermite between epochs.
    """
    ratio = max(lag_s, LEAST_LAG_S) / EPOCH_S
    kept = float(np.exp(-1 / ratio))
    # Moments of the exponential kernel over the epoch, by parts.
    k = [1 - kept]
    for power in (1, 2, 3):
        k.append(1 - power * ratio * k[-1])
    return np.array([
        kept,
        k[0] - 3 * k[2] + 2 * k[3],
        3 * k[2] - 2 * k[3],
        k[1] - 2 * k[2] + k[3],
        k[3] - k[2],
    ])  # fmt: skip


def receiver_factors(state: State) -> Iterator[Factor]:
    """The receiver shows a first-order low-pass of the body's place."""
    e, h = state.epochs, EPOCH_S
    links = slice(0, len(e) - 1)
    lag = lag_of(state.ride)
    low, high, apart_s2 = blurs_about(state.ride)
    c, slope = low_pass(lag), (low_pass(high) - low_pass(low)) / apart_s2
    cos, sin = h * np.cos(e[:, PSI]), h * np.sin(e[:, PSI])
    v = e[:, V]
    for axis, seen, along, across in ((X, MX, cos, -sin), (Y, MY, sin, cos)):
        step = v * along
        inputs = np.stack([e[:-1, seen], e[:-1, axis], e[1:, axis], step[:-1], step[1:]])
        terms: list[Term] = [
            (1, seen, 1.0), (0, seen, -c[0]), (0, axis, -c[1]), (1, axis, -c[2]),
            (0, PSI, -c[3] * v[:-1] * across[:-1]), (1, PSI, -c[4] * v[1:] * across[1:]),
            (0, V, -c[3] * along[:-1]), (1, V, -c[4] * along[1:]),
        ]  # fmt: skip
        residual = e[1:, seen] - c @ inputs
        yield factor_of("", links, terms, residual, FILTER_M, border=((BLUR, -(slope @ inputs)),))


def filtered(state: State) -> State:
    """The same with the filtered places worked out anew from the path.

    They follow the lag far from linearly; left where a linear step put them, they would pull the
    lag back to where it was.
    """
    e = state.epochs.copy()
    c = low_pass(lag_of(state.ride))
    for axis, seen, along in ((X, MX, np.cos(e[:, PSI])), (Y, MY, np.sin(e[:, PSI]))):
        step = EPOCH_S * e[:, V] * along
        drive = c[1:] @ np.stack([e[:-1, axis], e[1:, axis], step[:-1], step[1:]])
        e[1:, seen] = lfilter([1.0], [1.0, -c[0]], drive, zi=[c[0] * e[0, seen]])[0]
    return State(epochs=e, ride=state.ride)


def _clocked(state: State, per_shift: Floats) -> tuple[BorderTerm, BorderTerm]:
    """A residual's change with the clocks' shift, by the two parameters it is made of."""
    return (DELAY, per_shift), (BLUR, per_shift * lag_slope(state.ride))


def _seen_between(state: State, epoch: Ints, share: Floats, axis: int) -> tuple[Floats, Floats]:
    """Filtered place and velocity between epochs: linear, plus the sag of the present path."""
    m = state.epochs[:, axis]
    bend = np.zeros(len(m))
    bend[1:-1] = m[2:] - 2 * m[1:-1] + m[:-2]
    mean_bend = (bend[epoch] + bend[epoch + 1]) / 2
    place = (1 - share) * m[epoch] + share * m[epoch + 1] - share * (1 - share) / 2 * mean_bend
    velocity = (m[epoch + 1] - m[epoch] - (1 - 2 * share) / 2 * mean_bend) / EPOCH_S
    return place, velocity


def posed(ride: Floats, east_m: Floats, north_m: Floats) -> tuple[Floats, Floats, Floats, Floats]:
    """Fixes in the path's frame, and their derivative by the frame's rotation."""
    cos, sin = np.cos(ride[ROT]), np.sin(ride[ROT])
    x, y = cos * east_m - sin * north_m, sin * east_m + cos * north_m
    return x + ride[SHIFT_X], y + ride[SHIFT_Y], -y, x


def fix_factors(evidence: Evidence, state: State, noise: Noise) -> Iterator[Factor]:
    """A fix is the filtered place plus the slow error, in the pose of the ride."""
    f, e = evidence.fixes, state.epochs
    x, y, x_turned, y_turned = posed(state.ride, f.east_m, f.north_m)
    at, share = on_epochs(f.t_s + shift_of(state.ride), evidence.t_s)
    sd = noise.fix_m * f.spread
    # The slow error is that of the nearer epoch: a mean of two would be smoother the further the
    # fix is from both, and the clocks would be drawn to where all fixes lie best.
    far = share > 0.5
    near = at + far
    seen_x, rate_x = _seen_between(state, at, share, MX)
    seen_y, rate_y = _seen_between(state, at, share, MY)
    residual_x, residual_y = seen_x + e[near, BX] - x, seen_y + e[near, BY] - y
    trust = heavy((residual_x**2 + residual_y**2) / sd**2, 2, FIX_TAIL)
    early, late = (~far).astype(np.float64), far.astype(np.float64)
    for seen, bias, residual, turned, shift, rate in (
        (MX, BX, residual_x, x_turned, SHIFT_X, rate_x),
        (MY, BY, residual_y, y_turned, SHIFT_Y, rate_y),
    ):
        terms: list[Term] = [
            (0, seen, 1 - share), (1, seen, share), (0, bias, early), (1, bias, late),
        ]  # fmt: skip
        border = ((ROT, -turned), (shift, -1.0), *_clocked(state, rate))
        yield factor_of("fix", at, terms, residual, sd, trust=trust, border=border)


def speed_factors(evidence: Evidence, state: State, noise: Noise) -> Iterator[Factor]:
    """Measured speed is the body's, late by a delay of its own, by a scale near one.

    The receiver smooths the velocity: what it shows is the present velocities' low-pass. To the
    first order that is a delay, and as a delay the residual depends on speed and clocks; spread
    in time in full, the rough speed of the model would explain a smooth measured speed.
    """
    s, e = evidence.speeds, state.epochs
    if not len(s.t_s):
        return
    late_s, seen_s = late_of(state.ride), s.t_s + shift_of(state.ride)
    at, share = on_epochs(seen_s - late_s, evidence.t_s)
    ways = np.exp(1j * e[:, PSI])
    shown = np.abs(_at(_low_passed(ways, late_s), seen_s, evidence.t_s))
    kept = (1 + state.ride[SPEED_SCALE]) * shown
    spread = np.abs(_at(_low_passed(e[:, V] * ways, late_s), seen_s, evidence.t_s))
    spread -= shown * ((1 - share) * e[at, V] + share * e[at + 1, V])
    # As with the slow error: a mean of two epochs would draw the clocks to between them.
    far = share > 0.5
    gained = np.gradient(e[:, V], EPOCH_S)[at + far]
    predicted = kept * (e[at + far, V] + (share - far) * EPOCH_S * gained)
    predicted += (1 + state.ride[SPEED_SCALE]) * spread
    residual = predicted - s.speed_ms
    trust = heavy((residual / noise.speed_ms) ** 2, 1)
    terms: list[Term] = [(0, V, kept * ~far), (1, V, kept * far)]
    border = ((SPEED_SCALE, predicted), *_early(state, kept * gained))
    yield factor_of("speed", at, terms, residual, noise.speed_ms, trust=trust, border=border)
    yield from course_factors(evidence, state, noise)


def _early(state: State, rate: Floats) -> tuple[BorderTerm, ...]:
    """A residual's change with the speed's delay; a speed without one moves with the shift."""
    if late_of(state.ride) > 0.0:
        return (DELAY, rate), (EARLY, rate)
    return _clocked(state, rate)


def headings_shown(psi: Floats, late_s: float) -> NDArray[np.complex128]:
    """Low-pass of the unit vectors of the headings."""
    return _low_passed(np.exp(1j * psi), late_s)


def _low_passed(ways: NDArray[np.complex128], late_s: float) -> NDArray[np.complex128]:
    kept = float(np.exp(-EPOCH_S / late_s)) if late_s > LEAST_LAG_S else 0.0
    # Ramp-invariant: exact where the vector changes evenly within an epoch.
    ratio = late_s / EPOCH_S
    new = 1 - ratio * (1 - kept) if kept else 1.0
    shown: NDArray[np.complex128] = lfilter(
        [new, 1 - kept - new], [1.0, -kept], ways, zi=[(1 - new) * ways[0]]
    )[0]
    return shown


def _at(values: NDArray[np.complex128], t_s: Floats, epochs_s: Floats) -> NDArray[np.complex128]:
    at, share = on_epochs(t_s, epochs_s)
    between: NDArray[np.complex128] = (1 - share) * values[at] + share * values[at + 1]
    return between


def course_factors(evidence: Evidence, state: State, noise: Noise) -> Iterator[Factor]:
    """Measured course is the low-passed heading, as sure as speed over speed."""
    s, e = evidence.speeds, state.epochs
    told = np.flatnonzero(np.isfinite(s.course_rad) & (s.speed_ms > 0.7))
    if not len(told):
        return
    late_s, seen_s = late_of(state.ride), s.t_s[told] + shift_of(state.ride)
    shown = _at(headings_shown(e[:, PSI], late_s), seen_s, evidence.t_s)
    at, share = on_epochs(seen_s - late_s, evidence.t_s)
    turn_rads = np.gradient(e[:, PSI], EPOCH_S)[at]
    off = np.angle(shown) - s.course_rad[told] - state.ride[ROT]
    residual = (off + np.pi) % (2 * np.pi) - np.pi
    sd = noise.speed_ms / s.speed_ms[told]
    trust = heavy((residual / sd) ** 2, 1)
    terms: list[Term] = [(0, PSI, 1 - share), (1, PSI, share)]
    border = ((ROT, -1.0), *_early(state, turn_rads))
    yield factor_of("course", at, terms, residual, sd, trust=trust, border=border)
