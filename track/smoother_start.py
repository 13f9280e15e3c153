"""A first path from the fixes alone: good enough to linearise about."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np
from scipy.linalg import solveh_banded

from track.evidence import EPOCH_S, Evidence, Fixes, on_epochs
from track.path import Floats
from track.smoother_receiver import filtered
from track.smoother_state import (
    BLUR,
    DELAY,
    MX,
    MY,
    OFFSET,
    PARAMETERS,
    PSI,
    STATES,
    State,
    V,
    W,
    X,
    Y,
)

STANDING_MS: Final = 1.2
"""Faster than this by the fixes, and no halt is believed."""
ROUGH_FIX_M: Final = 0.5
ROUGH_ACCELERATION_MS2: Final = 1.0


def smooth_line(fixes: Fixes, epochs_s: Floats, rounds: int = 6) -> tuple[Floats, Floats]:
    """Positions with robust fixes and a walk of the velocity, shape (epochs,) each, m."""
    epoch, far = on_epochs(fixes.t_s, epochs_s)
    near = 1 - far
    place = np.stack([fixes.east_m, fixes.north_m], axis=1)
    trust = 1 / fixes.spread**2
    for _ in range(rounds):
        upper = _walk_penalty(len(epochs_s))
        np.add.at(upper[2], epoch, trust * near**2)
        np.add.at(upper[2], epoch + 1, trust * far**2)
        np.add.at(upper[1], epoch + 1, trust * near * far)
        sides = np.zeros((len(epochs_s), 2))
        np.add.at(sides, epoch, (trust * near)[:, None] * place)
        np.add.at(sides, epoch + 1, (trust * far)[:, None] * place)
        line = solveh_banded(upper, sides, check_finite=False)
        shown = near[:, None] * line[epoch] + far[:, None] * line[epoch + 1]
        off = np.hypot(*(shown - place).T)
        trust = 5 / (3 + (off / ROUGH_FIX_M) ** 2) / fixes.spread**2
    return line[:, 0], line[:, 1]


def _walk_penalty(epochs: int) -> Floats:
    """Upper band of the squared second differences, in units of a rough fix's variance."""
    strength = (ROUGH_FIX_M / (ROUGH_ACCELERATION_MS2 * EPOCH_S**2)) ** 2
    upper = np.zeros((3, epochs))
    upper[2] = 6.0
    upper[2, [0, -1]], upper[2, [1, -2]] = 1.0, 5.0
    upper[1, 1:] = -4.0
    upper[1, [1, -1]] = -2.0
    upper[0, 2:] = 1.0
    upper *= strength
    upper[2] += 1e-9
    return upper


def first_state(evidence: Evidence, *, lag_s: float = 0.3, shift_s: float = 0.0) -> State:
    """A linearisation point from the fixes, with headings from the gyroscope where there is one.

    The body is ahead of what the receiver shows by the lag: left out, the first steps would mend
    the place by the clocks and then the clocks by the place.
    """
    x, y = smooth_line(evidence.fixes, evidence.t_s - shift_s + lag_s)
    vx, vy = np.gradient(x, EPOCH_S), np.gradient(y, EPOCH_S)
    speed = np.hypot(vx, vy)
    psi = _headings(evidence, vx, vy, speed)
    epochs = np.zeros((len(x), STATES))
    epochs[:, X], epochs[:, Y], epochs[:, MX], epochs[:, MY] = x, y, x, y
    epochs[:, PSI] = psi
    epochs[:, V] = np.maximum(vx * np.cos(psi) + vy * np.sin(psi), 0.0)
    epochs[:, W] = np.gradient(psi, EPOCH_S)
    ride = np.zeros(PARAMETERS)
    ride[OFFSET], ride[BLUR], ride[DELAY] = 0.8, lag_s**2, shift_s - lag_s
    return filtered(State(epochs=epochs, ride=ride))


def standing(evidence: Evidence, shift_s: float) -> Evidence:
    """Stillness only where the fixes stand too: the clocks may have been laid together wrongly."""
    if not evidence.still.any():
        return evidence
    x, y = smooth_line(evidence.fixes, evidence.t_s - shift_s)
    speed = np.hypot(np.gradient(x, EPOCH_S), np.gradient(y, EPOCH_S))
    return replace(evidence, still=evidence.still & (speed < STANDING_MS))


def _headings(evidence: Evidence, vx: Floats, vy: Floats, speed: Floats) -> Floats:
    """Unwrapped headings: the gyroscope's yaw turned onto the course over some tens of seconds."""
    course = np.arctan2(vy, vx)
    yaw = np.zeros(len(vx))
    if evidence.yaw is not None:
        yaw[1:] = np.cumsum(evidence.yaw.turn_rad)
        window_s = 20.0
    else:
        window_s = 0.0
    apart = speed**2 * np.exp(1j * (course - yaw)) + 1e-9
    if window_s:
        apart = _averaged(apart.real, window_s) + 1j * _averaged(apart.imag, window_s)
    else:
        apart = _averaged(apart.real, 1.0) + 1j * _averaged(apart.imag, 1.0)
    return yaw + np.unwrap(np.angle(apart))


def _averaged(values: Floats, window_s: float) -> Floats:
    """Mean over a centred window, shorter at the ends."""
    half = max(round(window_s / EPOCH_S / 2), 1)
    summed = np.concatenate([[0.0], np.cumsum(values)])
    n = len(values)
    low, high = np.maximum(np.arange(n) - half, 0), np.minimum(np.arange(n) + half + 1, n)
    averaged: Floats = (summed[high] - summed[low]) / (high - low)
    return averaged
