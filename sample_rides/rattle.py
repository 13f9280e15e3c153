"""What shakes a phone beyond the stride's own harmonics: cloth, footfalls, restlessness, hands."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.random import Generator
from scipy.signal import butter, lfilter, sosfilt

from sample_rides.blending import plateau, weight
from sample_rides.schedule import RATE_HZ, Timeline
from sample_rides.strides import StridedSpan
from track.path import Floats
from track.sheet import GaitName

RATTLE_MS2: Final[dict[GaitName, float]] = {"halt": 0.06, "walk": 0.35, "trot": 0.8, "canter": 0.9}
RATTLE_RADS: Final[dict[GaitName, float]] = {
    "halt": 0.012, "walk": 0.06, "trot": 0.14, "canter": 0.14,
}  # fmt: skip
"""Broadband motion of a phone in cloth, per axis [judgement]."""
BAND_HZ: Final = (3.0, 12.0)
IN_HAND_MS2: Final = 1.5
IN_HAND_RADS: Final = 0.4
FOOTFALLS: Final[dict[GaitName, tuple[float, ...]]] = {
    "halt": (),
    "walk": (0.0, 0.25, 0.5, 0.75),
    "trot": (0.0, 0.5),
    "canter": (-0.22, 0.0, 0.24),
}
"""Phases of the stride's beats: four in walk, two in trot, three in canter."""
KNOCK_MS2: Final[dict[GaitName, float]] = {"halt": 0.0, "walk": 0.5, "trot": 2.0, "canter": 1.6}
"""Peak of the knock a footfall sends through rider and phone [judgement]."""
KNOCK_HZ: Final = 11.0
KNOCK_DECAY_S: Final = 0.05


def rattle(
    timeline: Timeline, strides: Sequence[StridedSpan], rng: Generator
) -> tuple[Floats, Floats]:
    """Acceleration (3, n) in m/s² and small turns (3, n) in rad, in the phone's axes.

    The turns are a motion to and fro, so that the gyroscope's rattle adds up to nothing.
    """
    level = _level(timeline, rng)
    band = butter(2, BAND_HZ, btype="bandpass", fs=RATE_HZ, output="sos")
    noise = sosfilt(band, rng.standard_normal((6, level.shape[1])), axis=1)
    noise[:3] /= noise[:3].std(axis=1, keepdims=True)
    noise[3:] /= (np.diff(noise[3:], axis=1) * RATE_HZ).std(axis=1, keepdims=True)
    direction = rng.standard_normal(3)
    direction /= np.linalg.norm(direction)
    knocks = direction[:, None] * _knocks(timeline, strides, rng)
    return noise[:3] * level[0] + knocks, noise[3:] * level[1]


def _level(timeline: Timeline, rng: Generator) -> Floats:
    """Size of the broadband motion; at halts the horse shifts its weight now and then."""
    t_s = timeline.t_s
    level = np.zeros((2, len(t_s)))
    for span in timeline.spans:
        where, share = weight(t_s, span.start_s, span.end_s)
        level[0, where] += RATTLE_MS2[span.gait] * share
        level[1, where] += RATTLE_RADS[span.gait] * share
        if span.gait == "halt":
            shifts = rng.poisson(0.15 * (span.end_s - span.start_s))
            for at_s in rng.uniform(span.start_s, span.end_s, shifts):
                level += np.array([[0.7], [0.1]]) * np.exp(-(((t_s - at_s) / 0.25) ** 2))
    for start_s, end_s in timeline.handled_s:
        level += np.array([[IN_HAND_MS2], [IN_HAND_RADS]]) * plateau(t_s, start_s, end_s, 1.0)
    return level


def _knocks(timeline: Timeline, strides: Sequence[StridedSpan], rng: Generator) -> Floats:
    """A short ringing after every footfall, each of its own strength."""
    blows = np.zeros(len(timeline.t_s))
    strength = float(np.exp(0.5 * rng.standard_normal()))
    for strided in strides:
        boundary_s = strided.boundary_s
        for phase in FOOTFALLS[strided.span.gait]:
            at_s = boundary_s[:-1] + phase * np.diff(boundary_s)
            index = np.clip(np.round(at_s * RATE_HZ).astype(int), 0, len(blows) - 1)
            size = np.exp(0.4 * rng.standard_normal(len(index)))
            np.add.at(blows, index, strength * KNOCK_MS2[strided.span.gait] * size)
    shrink = float(np.exp(-1.0 / (KNOCK_DECAY_S * RATE_HZ)))
    turn = 2.0 * np.pi * KNOCK_HZ / RATE_HZ
    ringing = [1.0, -2.0 * shrink * np.cos(turn), shrink**2]
    return np.asarray(lfilter([np.sin(turn)], ringing, blows))
