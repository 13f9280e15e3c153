"""The factors of the smoother: what each law of motion and each measurement says of the states.

The motion's own are here, the receiver's in :mod:`track.smoother_receiver`; the states are those of
:mod:`track.smoother_state`.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np
from scipy.ndimage import maximum_filter1d

from track.evidence import EPOCH_S, Evidence, YawSteps
from track.path import Floats
from track.smoother_band import HEAVY_TAIL, Factor, Term, factor_of, heavy
from track.smoother_receiver import fix_factors, receiver_factors, speed_factors
from track.smoother_state import (
    BX,
    BY,
    MX,
    MY,
    PSI,
    TURN_SCALE,
    G,
    Noise,
    State,
    V,
    W,
    X,
    Y,
    shift_of,
)

STEADY_TAIL: Final = 1.5
"""Degrees of freedom for steps of speed: steady riding, and transitions ten times as steep."""
STEEPEST_MS: Final = 0.7
"""Change of speed in one epoch, sd, however the effort changes: from trot to halt a horse takes a
second or two [judgement]. Left to heavy tails alone a speed may swing to and fro by some metres in
a second beside a halt: means of two epochs do not feel it."""
LOOSE_EPOCHS: Final = 5
"""A large step of speed or turn rate loosens the walk over so many epochs."""
FREE_WALK: Final = 5.0
"""Walk of the turn rate under a gyroscope, rad/s per root second: as good as free."""


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
        yield factor_of("sway", links, terms, residual, noise.sway_m)
    mean_w = (now[:, W] + then[:, W]) / 2
    terms = [(1, PSI, 1.0), (0, PSI, -1.0), (1, W, -h / 2), (0, W, -h / 2)]
    yield factor_of("", links, terms, turn - h * mean_w, np.where(steered, 0.5, 0.02))
    steady = np.full(len(turn), noise.speed_walk)
    if evidence.stir_ms is not None:
        steady = np.hypot(steady, evidence.stir_ms / np.sqrt(h))
    yield _walk("speed_walk", V, state, steady, STEADY_TAIL)
    yield factor_of("", links, [(1, V, 1.0), (0, V, -1.0)], then[:, V] - now[:, V], STEEPEST_MS)
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
    trust = heavy(maximum_filter1d((step / sd) ** 2, LOOSE_EPOCHS), 1, freedom)
    where = slice(0, len(rate)) if len(at) == len(rate) else at
    return factor_of(kind, where, [(1, column, 1.0), (0, column, -1.0)], step, sd, trust=trust)


def drift_factors(evidence: Evidence, state: State, noise: Noise) -> Iterator[Factor]:
    """Slow errors as first-order Gauss-Markov processes; the receiver's starts afresh at times."""
    e, h = state.epochs, EPOCH_S
    links = slice(0, len(e) - 1)
    kept = np.exp(-h * noise.drift_rate**2 / (2 * noise.drift_m**2))
    kept = np.where(evidence.reset(shift_of(state.ride)), 0.0, kept)
    sd = noise.drift_m * np.sqrt(1 - kept**2)
    for axis in (BX, BY):
        step = e[1:, axis] - kept * e[:-1, axis]
        yield factor_of("drift", links, [(1, axis, 1.0), (0, axis, -kept)], step, sd)
    kept_turn = float(np.exp(-h / noise.turn_drift_s))
    step = e[1:, G] - kept_turn * e[:-1, G]
    sd_turn = noise.turn_drift_rads * np.sqrt(1 - kept_turn**2)
    yield factor_of("", links, [(1, G, 1.0), (0, G, -kept_turn)], step, sd_turn)


def turn_factors(yaw: YawSteps, state: State, noise: Noise) -> Iterator[Factor]:
    """Yaw of the trunk between epochs, by the gyroscope's scale and slow error."""
    e, h = state.epochs, EPOCH_S
    at = np.flatnonzero(yaw.known)
    turn = (e[1:, PSI] - e[:-1, PSI])[at]
    scale = 1 + state.ride[TURN_SCALE]
    residual = scale * turn + h * e[at, G] - yaw.turn_rad[at]
    sd = noise.turn_rads * h
    terms: list[Term] = [(1, PSI, scale), (0, PSI, -scale), (0, G, h)]
    trust = heavy((residual / sd) ** 2, 1)
    yield factor_of("turn", at, terms, residual, sd, trust=trust, border=((TURN_SCALE, turn),))


def still_factors(evidence: Evidence, state: State) -> Iterator[Factor]:
    """A body that stands still has no speed."""
    at = np.flatnonzero(evidence.still)
    if len(at):
        yield factor_of("", at, [(0, V, 1.0)], state.epochs[at, V], 0.03)


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
        yield factor_of("", start, [(0, column, 1.0)], first[[column]], sd)
    for axis, seen in ((X, MX), (Y, MY)):
        residual = first[[seen]] - first[[axis]]
        yield factor_of("", start, [(0, seen, 1.0), (0, axis, -1.0)], residual, 2.0)
