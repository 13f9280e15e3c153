"""The factors of the smoother: what each measurement and each law of motion says of the states.

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

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import maximum_filter1d
from scipy.signal import lfilter

from track.evidence import EPOCH_S, Evidence, YawSteps, on_epochs
from track.path import Floats, Ints
from track.smoother_band import BorderTerm, Factor, Term

X, Y, PSI, V, W, BX, BY, MX, MY, G = range(10)
STATES: Final = 10
ROT, SHIFT_X, SHIFT_Y, OFFSET, SPEED_SCALE, TURN_SCALE, BLUR, DELAY, EARLY = range(9)
PARAMETERS: Final = 9

LEAST_LAG_S: Final = 0.01
BLUR_SPAN_S2: Final = 0.05
FILTER_M: Final = 0.01
"""How well a first-order low-pass can be written from epoch to epoch, sd."""
STEADY_TAIL: Final = 1.5
"""Degrees of freedom for steps of speed: steady riding, and transitions ten times as steep."""
LOOSE_EPOCHS: Final = 5
"""A large step of speed or turn rate loosens the walk over so many epochs."""
FREE_WALK: Final = 5.0
"""Walk of the turn rate under a gyroscope, rad/s per root second: as good as free."""
HEAVY_TAIL: Final = 4.0
"""Degrees of freedom of the t-distribution for fixes and for steps of speed and turn rate: an
occasional wild fix, a transition, the start of a figure."""


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


def all_factors(evidence: Evidence, state: State, noise: Noise) -> Iterator[Factor]:
    """Every factor that needs no arena."""
    yaw = evidence.yaw
    yield from motion_factors(evidence, state, noise)
    yield from drift_factors(evidence, state, noise)
    yield from receiver_factors(state)
    yield from fix_factors(evidence, state, noise)
    yield from speed_factors(evidence, state, noise)
    if yaw is not None:
        yield from turn_factors(yaw, state, noise)
    yield from still_factors(evidence, state)
    yield from start_factors(state, noise)


def _factor(
    kind: str,
    where: slice | Ints,
    terms: list[Term],
    residual: Floats,
    sd: Floats | float,
    *,
    trust: Floats | None = None,
    border: tuple[tuple[int, Floats | float], ...] = (),
) -> Factor:
    given = np.ones(len(residual)) if trust is None else trust
    return Factor(
        kind=kind,
        where=where,
        terms=terms,
        residual=residual,
        weight=given / np.broadcast_to(np.asarray(sd, dtype=np.float64) ** 2, residual.shape),
        trust=given,
        border=border,
    )


def _heavy(squares: Floats, numbers: int, freedom: float = HEAVY_TAIL) -> Floats:
    """Weight of a t-distributed residual from its squared standardised length."""
    return (freedom + numbers) / (freedom + squares)


def motion_factors(evidence: Evidence, state: State, noise: Noise) -> Iterator[Factor]:
    """Arcs between epochs; speed and turn rate walk, seldom by much unless the effort changes.

    Without a gyroscope an arc has one turn rate; with one, the turn is spread over the epoch as
    the gyroscope shows it (a corner begins in the middle of an epoch). The walk of the turn rate
    is free then: held, it would see where corners fall between epochs and hold the motion clock.
    """
    e, h, yaw = state.epochs, EPOCH_S, evidence.yaw
    links = slice(0, len(e) - 1)
    now, then = e[:-1], e[1:]
    psi, v = (now[:, PSI] + then[:, PSI]) / 2, (now[:, V] + then[:, V]) / 2
    turn = then[:, PSI] - now[:, PSI]
    steered = np.zeros(len(turn), dtype=np.bool_)
    if yaw is not None:
        steered, psi = yaw.known, psi + yaw.bulge_rad
    chord = h * (1 - turn**2 / 24)  # of an arc of unit speed, to third order in its angle
    cos, sin = chord * np.cos(psi), chord * np.sin(psi)
    for axis, along, across in ((X, cos, -sin), (Y, sin, cos)):
        bent = -v * along * turn / 12
        terms: list[Term] = [
            (1, axis, 1.0), (0, axis, -1.0),
            (1, PSI, -v * across / 2 - bent), (0, PSI, -v * across / 2 + bent),
            (1, V, -along / 2), (0, V, -along / 2),
        ]  # fmt: skip
        residual = then[:, axis] - now[:, axis] - v * along
        yield _factor("sway", links, terms, residual, noise.sway_m)
    mean_w = (now[:, W] + then[:, W]) / 2
    terms = [(1, PSI, 1.0), (0, PSI, -1.0), (1, W, -h / 2), (0, W, -h / 2)]
    yield _factor("", links, terms, turn - h * mean_w, np.where(steered, 0.5, 0.02))
    steady = np.full(len(turn), noise.speed_walk)
    if evidence.stir_ms is not None:
        steady = np.hypot(steady, evidence.stir_ms / np.sqrt(h))
    yield _walk("speed_walk", V, state, steady, STEADY_TAIL)
    for kind, chosen, rate in (("turn_walk", ~steered, noise.turn_walk), ("", steered, FREE_WALK)):
        if chosen.any():
            yield _walk(kind, W, state, np.where(chosen, rate, np.inf), HEAVY_TAIL)


def _walk(kind: str, column: int, state: State, rate: Floats, freedom: float) -> Factor:
    """Random walk of one state, with t-distributed steps; none where ``rate`` is infinite.

    A large step loosens its neighbours too: weights that picked single epochs would hold the
    instant of a transition, and with it the receiver's lag, where the first guess had it.
    """
    at = np.flatnonzero(np.isfinite(rate))
    step, sd = np.diff(state.epochs[:, column])[at], rate[at] * np.sqrt(EPOCH_S)
    trust = _heavy(maximum_filter1d((step / sd) ** 2, LOOSE_EPOCHS), 1, freedom)
    where = slice(0, len(rate)) if len(at) == len(rate) else at
    return _factor(kind, where, [(1, column, 1.0), (0, column, -1.0)], step, sd, trust=trust)


def drift_factors(evidence: Evidence, state: State, noise: Noise) -> Iterator[Factor]:
    """Slow errors as first-order Gauss-Markov processes; the receiver's starts afresh at times."""
    e, h = state.epochs, EPOCH_S
    links = slice(0, len(e) - 1)
    kept = np.exp(-h * noise.drift_rate**2 / (2 * noise.drift_m**2))
    kept = np.where(evidence.reset(shift_of(state.ride)), 0.0, kept)
    sd = noise.drift_m * np.sqrt(1 - kept**2)
    for axis in (BX, BY):
        step = e[1:, axis] - kept * e[:-1, axis]
        yield _factor("drift", links, [(1, axis, 1.0), (0, axis, -kept)], step, sd)
    kept_turn = float(np.exp(-h / noise.turn_drift_s))
    step = e[1:, G] - kept_turn * e[:-1, G]
    sd_turn = noise.turn_drift_rads * np.sqrt(1 - kept_turn**2)
    yield _factor("", links, [(1, G, 1.0), (0, G, -kept_turn)], step, sd_turn)


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
        yield _factor("", links, terms, residual, FILTER_M, border=((BLUR, -(slope @ inputs)),))


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
    trust = _heavy((residual_x**2 + residual_y**2) / sd**2, 2)
    early, late = (~far).astype(np.float64), far.astype(np.float64)
    for seen, bias, residual, turned, shift, rate in (
        (MX, BX, residual_x, x_turned, SHIFT_X, rate_x),
        (MY, BY, residual_y, y_turned, SHIFT_Y, rate_y),
    ):
        terms: list[Term] = [
            (0, seen, 1 - share), (1, seen, share), (0, bias, early), (1, bias, late),
        ]  # fmt: skip
        border = ((ROT, -turned), (shift, -1.0), *_clocked(state, rate))
        yield _factor("fix", at, terms, residual, sd, trust=trust, border=border)


def late_of(ride: Floats) -> float:
    """Time constant of the low-pass in the speed column, s: its own, none at the least."""
    return max(lag_of(ride) - float(ride[EARLY]), 0.0)


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
    trust = _heavy((residual / noise.speed_ms) ** 2, 1)
    terms: list[Term] = [(0, V, kept * ~far), (1, V, kept * far)]
    border = ((SPEED_SCALE, predicted), *_early(state, kept * gained))
    yield _factor("speed", at, terms, residual, noise.speed_ms, trust=trust, border=border)
    yield from course_factors(evidence, state, noise)


def _early(state: State, rate: Floats) -> tuple[BorderTerm, ...]:
    """A residual's change with the speed's delay; a speed without one moves with the shift."""
    if late_of(state.ride) > 0.0:
        return (DELAY, rate), (EARLY, rate)
    return _clocked(state, rate)


def _headings_shown(psi: Floats, late_s: float) -> NDArray[np.complex128]:
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
    shown = _at(_headings_shown(e[:, PSI], late_s), seen_s, evidence.t_s)
    at, share = on_epochs(seen_s - late_s, evidence.t_s)
    turn_rads = np.gradient(e[:, PSI], EPOCH_S)[at]
    off = np.angle(shown) - s.course_rad[told] - state.ride[ROT]
    residual = (off + np.pi) % (2 * np.pi) - np.pi
    sd = noise.speed_ms / s.speed_ms[told]
    trust = _heavy((residual / sd) ** 2, 1)
    terms: list[Term] = [(0, PSI, 1 - share), (1, PSI, share)]
    border = ((ROT, -1.0), *_early(state, turn_rads))
    yield _factor("course", at, terms, residual, sd, trust=trust, border=border)


def turn_factors(yaw: YawSteps, state: State, noise: Noise) -> Iterator[Factor]:
    """Yaw of the trunk between epochs, by the gyroscope's scale and slow error."""
    e, h = state.epochs, EPOCH_S
    at = np.flatnonzero(yaw.known)
    turn = (e[1:, PSI] - e[:-1, PSI])[at]
    scale = 1 + state.ride[TURN_SCALE]
    residual = scale * turn + h * e[at, G] - yaw.turn_rad[at]
    sd = noise.turn_rads * h
    terms: list[Term] = [(1, PSI, scale), (0, PSI, -scale), (0, G, h)]
    trust = _heavy((residual / sd) ** 2, 1)
    yield _factor("turn", at, terms, residual, sd, trust=trust, border=((TURN_SCALE, turn),))


def still_factors(evidence: Evidence, state: State) -> Iterator[Factor]:
    """A body that stands still has no speed."""
    at = np.flatnonzero(evidence.still)
    if len(at):
        yield _factor("", at, [(0, V, 1.0)], state.epochs[at, V], 0.03)


def start_factors(state: State, noise: Noise) -> Iterator[Factor]:
    """What is known of the first epoch: little."""
    first, start = state.epochs[0], np.zeros(1, dtype=np.int64)
    known = (
        (BX, noise.drift_m),
        (BY, noise.drift_m),
        (G, noise.turn_drift_rads),
        (V, 4.0),
        (W, 1.0),
        (PSI, 30.0),
    )
    for column, sd in known:
        yield _factor("", start, [(0, column, 1.0)], first[[column]], sd)
    for axis, seen in ((X, MX), (Y, MY)):
        residual = first[[seen]] - first[[axis]]
        yield _factor("", start, [(0, seen, 1.0), (0, axis, -1.0)], residual, 2.0)
