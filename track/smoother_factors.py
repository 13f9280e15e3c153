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
and turn rate, the receiver's time constant, and the motion clock's shift.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from track.evidence import EPOCH_S, Evidence
from track.path import Floats, Ints
from track.smoother_band import Factor, Term

X, Y, PSI, V, W, BX, BY, MX, MY, G = range(10)
STATES: Final = 10
ROT, SHIFT_X, SHIFT_Y, OFFSET, SPEED_SCALE, TURN_SCALE, LAG, CLOCK = range(8)
PARAMETERS: Final = 8

LEAST_LAG_S: Final = 0.02
STEERED_TURN_WALK: Final = 1.5
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

    fix_m: float = 0.3
    drift_m: float = 2.0
    drift_rate: float = 0.3
    speed_ms: float = 0.2
    speed_walk: float = 0.25
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
    yield from motion_factors(state, noise, steered=evidence.turns is not None)
    yield from drift_factors(evidence, state, noise)
    yield from receiver_factors(state)
    yield from fix_factors(evidence, state, noise)
    yield from speed_factors(evidence, state, noise)
    yield from turn_factors(evidence, state, noise)
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


def motion_factors(state: State, noise: Noise, *, steered: bool) -> Iterator[Factor]:
    """Constant-turn arcs between epochs; speed and turn rate walk, seldom by much.

    Where a gyroscope steers the path, the walk of the turn rate is loose and Gaussian: weights
    that pick the instants of a figure's start would hold the motion clock where it happens to be.
    """
    e, h = state.epochs, EPOCH_S
    links = slice(0, len(e) - 1)
    now, then = e[:-1], e[1:]
    psi, v = (now[:, PSI] + then[:, PSI]) / 2, (now[:, V] + then[:, V]) / 2
    turn = then[:, PSI] - now[:, PSI]
    chord = h * (1 - turn**2 / 24)  # of an arc of unit speed, to third order in its angle
    cos, sin = chord * np.cos(psi), chord * np.sin(psi)
    for axis, along, across in ((X, cos, -sin), (Y, sin, cos)):
        bent = -v * along * turn / 12
        terms: list[Term] = [
            (1, axis, 1.0), (0, axis, -1.0),
            (1, PSI, -v * across / 2 - bent), (0, PSI, -v * across / 2 + bent),
            (1, V, -along / 2), (0, V, -along / 2),
        ]  # fmt: skip
        yield _factor("sway", links, terms, then[:, axis] - now[:, axis] - v * along, noise.sway_m)
    mean_w = (now[:, W] + then[:, W]) / 2
    terms = [(1, PSI, 1.0), (0, PSI, -1.0), (1, W, -h / 2), (0, W, -h / 2)]
    yield _factor("", links, terms, turn - h * mean_w, 0.02)
    yield _walk("speed_walk", V, state, noise.speed_walk)
    if steered:
        yield _walk("", W, state, STEERED_TURN_WALK, freedom=np.inf)
    else:
        yield _walk("turn_walk", W, state, noise.turn_walk)


def _walk(kind: str, column: int, state: State, rate: float, freedom: float = HEAVY_TAIL) -> Factor:
    """Random walk of one state; its steps are t-distributed unless ``freedom`` is infinite."""
    step, sd = np.diff(state.epochs[:, column]), rate * np.sqrt(EPOCH_S)
    trust = None if np.isinf(freedom) else _heavy((step / sd) ** 2, 1, freedom)
    links = slice(0, len(step))
    return _factor(kind, links, [(1, column, 1.0), (0, column, -1.0)], step, sd, trust=trust)


def drift_factors(evidence: Evidence, state: State, noise: Noise) -> Iterator[Factor]:
    """Slow errors as first-order Gauss-Markov processes; the receiver's starts afresh at times."""
    e, h = state.epochs, EPOCH_S
    links = slice(0, len(e) - 1)
    kept = np.exp(-h * noise.drift_rate**2 / (2 * noise.drift_m**2))
    kept = np.where(evidence.reset, 0.0, kept)
    sd = noise.drift_m * np.sqrt(1 - kept**2)
    for axis in (BX, BY):
        step = e[1:, axis] - kept * e[:-1, axis]
        yield _factor("drift", links, [(1, axis, 1.0), (0, axis, -kept)], step, sd)
    kept_turn = float(np.exp(-h / noise.turn_drift_s))
    step = e[1:, G] - kept_turn * e[:-1, G]
    sd_turn = noise.turn_drift_rads * np.sqrt(1 - kept_turn**2)
    yield _factor("", links, [(1, G, 1.0), (0, G, -kept_turn)], step, sd_turn)


def low_pass(lag_s: float) -> Floats:
    """Coefficients of a first-order low-pass over one epoch.

    Returns
    -------
    array, shape (4,)
        Of the filtered value before, of the input before and after (linear between), and of the
        input's second derivative (for the sag of an arc below its chord).
    """
    tau, h = max(lag_s, LEAST_LAG_S), EPOCH_S
    kept = np.exp(-h / tau)
    after = 1 - tau / h * (1 - kept)
    first = tau - kept * (tau + h)
    second = 2 * tau**2 - kept * (h**2 + 2 * h * tau + 2 * tau**2)
    return np.array([kept, 1 - kept - after, after, -(h * first - second) / 2])


def receiver_factors(state: State) -> Iterator[Factor]:
    """The receiver shows a first-order low-pass of the body's place."""
    e = state.epochs
    links = slice(0, len(e) - 1)
    lag = float(state.ride[LAG])
    c = low_pass(lag)
    slope = (low_pass(lag + 0.01) - low_pass(max(lag - 0.01, LEAST_LAG_S))) / (
        lag + 0.01 - max(lag - 0.01, LEAST_LAG_S)
    )
    middle = (e[:-1] + e[1:]) / 2
    pull = middle[:, V] * middle[:, W]
    for axis, seen, bend in (
        (X, MX, -pull * np.sin(middle[:, PSI])),
        (Y, MY, pull * np.cos(middle[:, PSI])),
    ):
        inputs = np.stack([e[:-1, seen], e[:-1, axis], e[1:, axis], bend])
        terms: list[Term] = [(1, seen, 1.0), (0, seen, -c[0]), (0, axis, -c[1]), (1, axis, -c[2])]
        yield _factor(
            "", links, terms, e[1:, seen] - c @ inputs, 0.02, border=((LAG, -(slope @ inputs)),)
        )


def _seen_between(state: State, epoch: Ints, share: Floats, axis: int) -> Floats:
    """Filtered place between epochs: linear, plus the sag of the present path."""
    m = state.epochs[:, axis]
    bend = np.zeros(len(m))
    bend[1:-1] = m[2:] - 2 * m[1:-1] + m[:-2]
    mean_bend = (bend[epoch] + bend[epoch + 1]) / 2
    place: Floats = (1 - share) * m[epoch] + share * m[epoch + 1]
    return place - share * (1 - share) / 2 * mean_bend


def posed(ride: Floats, east_m: Floats, north_m: Floats) -> tuple[Floats, Floats, Floats, Floats]:
    """Fixes in the path's frame, and their derivative by the frame's rotation."""
    cos, sin = np.cos(ride[ROT]), np.sin(ride[ROT])
    x, y = cos * east_m - sin * north_m, sin * east_m + cos * north_m
    return x + ride[SHIFT_X], y + ride[SHIFT_Y], -y, x


def fix_factors(evidence: Evidence, state: State, noise: Noise) -> Iterator[Factor]:
    """A fix is the filtered place plus the slow error, in the pose of the ride."""
    f = evidence.fixes
    x, y, x_turned, y_turned = posed(state.ride, f.east_m, f.north_m)
    at, sd = f.epoch, noise.fix_m * f.spread
    slow = state.epochs[:, [BX, BY]]
    drift = (1 - f.share)[:, None] * slow[at] + f.share[:, None] * slow[at + 1]
    residual_x = _seen_between(state, at, f.share, MX) + drift[:, 0] - x
    residual_y = _seen_between(state, at, f.share, MY) + drift[:, 1] - y
    trust = _heavy((residual_x**2 + residual_y**2) / sd**2, 2)
    for seen, bias, residual, turned, shift in (
        (MX, BX, residual_x, x_turned, SHIFT_X),
        (MY, BY, residual_y, y_turned, SHIFT_Y),
    ):
        terms: list[Term] = [
            (0, seen, 1 - f.share), (1, seen, f.share), (0, bias, 1 - f.share), (1, bias, f.share),
        ]  # fmt: skip
        border = ((ROT, -turned), (shift, -1.0))
        yield _factor("fix", at, terms, residual, sd, trust=trust, border=border)


def speed_factors(evidence: Evidence, state: State, noise: Noise) -> Iterator[Factor]:
    """Measured speed (or velocity) is that of the filtered place, by a scale near one."""
    s = evidence.speeds
    if not len(s.epoch):
        return
    e, h = state.epochs, EPOCH_S
    step = (e[1:, [MX, MY]] - e[:-1, [MX, MY]])[s.epoch] / h
    scale = 1 + state.ride[SPEED_SCALE]
    size = np.sqrt((step**2).sum(axis=1) + 0.05**2)
    speedup = np.gradient(np.hypot(*np.gradient(e[:, [MX, MY]], h, axis=0).T), h)[s.epoch]
    predicted = size + (s.share - 0.5) * h * speedup
    residual = scale * predicted - s.speed_ms
    trust = _heavy((residual / noise.speed_ms) ** 2, 1)
    along = scale * step / size[:, None] / h
    terms: list[Term] = [
        (1, MX, along[:, 0]), (0, MX, -along[:, 0]), (1, MY, along[:, 1]), (0, MY, -along[:, 1]),
    ]  # fmt: skip
    border = ((SPEED_SCALE, predicted),)
    yield _factor("speed", s.epoch, terms, residual, noise.speed_ms, trust=trust, border=border)
    yield from course_factors(evidence, state, noise, step, size)


def course_factors(
    evidence: Evidence, state: State, noise: Noise, step: Floats, size: Floats
) -> Iterator[Factor]:
    """Measured course: the velocity across it is nought, as sure as the speed is."""
    s = evidence.speeds
    told = np.flatnonzero(np.isfinite(s.course_rad) & (size > 0.7))
    if not len(told):
        return
    at = s.epoch[told]
    course = s.course_rad[told] + state.ride[ROT]
    turn_on = (s.share[told] - 0.5) * EPOCH_S * state.epochs[at, W]
    left = np.stack([-np.sin(course - turn_on), np.cos(course - turn_on)], axis=1)
    residual = (left * step[told]).sum(axis=1)
    trust = _heavy((residual / noise.speed_ms) ** 2, 1)
    slope = left / EPOCH_S
    terms: list[Term] = [
        (1, MX, slope[:, 0]), (0, MX, -slope[:, 0]), (1, MY, slope[:, 1]), (0, MY, -slope[:, 1]),
    ]  # fmt: skip
    border = ((ROT, -size[told]),)
    yield _factor("speed", at, terms, residual, noise.speed_ms, trust=trust, border=border)


def turn_factors(evidence: Evidence, state: State, noise: Noise) -> Iterator[Factor]:
    """Yaw of the trunk between epochs, by the gyroscope's scale and slow error."""
    if evidence.turns is None:
        return
    e, h = state.epochs, EPOCH_S
    yaw, per_shift, known = evidence.turns.steps(evidence.t_s, float(state.ride[CLOCK]))
    at = np.flatnonzero(known & ~evidence.slipped)
    turn = (e[1:, PSI] - e[:-1, PSI])[at]
    scale = 1 + state.ride[TURN_SCALE]
    residual = scale * turn + h * e[at, G] - yaw[at]
    sd = noise.turn_rads * h
    terms: list[Term] = [(1, PSI, scale), (0, PSI, -scale), (0, G, h)]
    border = ((TURN_SCALE, turn), (CLOCK, -per_shift[at]))
    trust = _heavy((residual / sd) ** 2, 1)
    yield _factor("turn", at, terms, residual, sd, trust=trust, border=border)


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


def with_levels(noise: Noise, **levels: float) -> Noise:
    """The same noise with some levels replaced."""
    return replace(noise, **levels)
