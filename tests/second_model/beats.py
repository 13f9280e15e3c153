"""From strides to the force on the rider: trains of gamma-shaped pulses through a springy body.

The seat pushes the rider up by one body weight on average; how it is spread over the stride is
the gait. Peaks: sitting trot 2.92 / 3.03 body weights, rising 2.54 / 1.95 (J Biomech
10.1016/j.jbiomech.2009.10.036). The body passes the pulses on like a mass on a damped spring.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.signal import bilinear, lfilter
from scipy.stats import gamma

from tests.second_model.horse import Horse
from tests.second_model.truth import Floats

G_MS2 = 9.81


@dataclass(frozen=True, slots=True)
class Footfalls:
    """Beats of one stride: phase, strength, side (+1 left, -1 right), and pulse form."""

    phase: tuple[float, ...]
    strength: tuple[float, ...]
    side: tuple[int, ...]
    base: float
    shape: float
    width: float


FOOTFALLS = {
    "walk": Footfalls(
        (0.0, 0.24, 0.5, 0.74), (1.0, 0.3, 0.94, 0.3), (1, 1, -1, -1), 0.8, 3.0, 0.05
    ),
    "trot": Footfalls((0.0, 0.5), (1.0, 0.9), (1, -1), 0.0, 4.0, 0.054),
    "rising": Footfalls((0.0, 0.5), (2.54, 1.95), (1, -1), 0.12, 4.0, 0.056),
    "canter": Footfalls((0.0, 0.19, 0.4), (0.5, 1.0, 0.55), (-1, 1, 1), 0.1, 5.0, 0.05),
}  # fmt: skip
"""The width is the gamma law's scale as a share of the stride. Walk: hind feet carry the two
cycles a stride; canter: three beats melt into one cycle."""


def stride_starts(
    rng: np.random.Generator, horse: Horse, gait: str, start_s: float, end_s: float
) -> Floats:
    """Start of every stride and the end of the last, near ``end_s``; uneven next to changes."""
    mean = horse.stride_s[gait]
    count = max(round((end_s - start_s) / mean), 2)
    noise = rng.laplace(0.0, 1.0 / np.sqrt(2), count)
    even = lfilter([1.0], [1.0, -0.3], noise) * np.sqrt(1 - 0.3**2)
    mess = np.ones(count)
    mess[:2] = mess[-2:] = 3.0
    drift = 0.02 * np.sin(2 * np.pi * (np.arange(count) / rng.uniform(25, 60) + rng.random()))
    even = (even - even.mean()) * horse.cv[gait] * mess
    return start_s + mean * np.concatenate([[0.0], np.cumsum(1 + np.clip(even + drift, -0.3, 0.3))])


@dataclass(frozen=True, slots=True, kw_only=True)
class Train:
    """Pulses on the simulation's grid: all, signed by side, and of the first beat only."""

    base: Floats
    both: Floats
    signed: Floats
    first: Floats


def pulse_train(
    rng: np.random.Generator, t_s: Floats, starts_s: Floats, kind: str, weight: Floats
) -> Train:
    """Lay one gait's pulses, in body weights, times ``weight`` (0 to 1) over time."""
    feet = FOOTFALLS[kind]
    total = sum(feet.strength)
    both, signed, first = (np.zeros_like(t_s) for _ in range(3))
    dt = t_s[1] - t_s[0]
    for start, duration in zip(starts_s[:-1], np.diff(starts_s), strict=True):
        scale = feet.width * duration
        span = int((feet.shape + 8) * scale / dt)
        for i, (phase, strength, side) in enumerate(
            zip(feet.phase, feet.strength, feet.side, strict=True)
        ):
            hit = start + (phase + rng.normal(0, 0.006)) * duration
            at = int(np.searchsorted(t_s, hit))
            window = slice(at, min(at + span, len(t_s)))
            area = (1 - feet.base) * duration * strength / total * (1 + rng.normal(0, 0.06))
            pulse = area * gamma.pdf(t_s[window] - hit, feet.shape, scale=scale)
            both[window] += pulse
            signed[window] += side * pulse
            if i == 0:
                first[window] += pulse
    return Train(
        base=feet.base * weight, both=both * weight, signed=signed * weight, first=first * weight
    )


def springy(signal: Floats, rate_hz: float, own_hz: float, damping: float) -> Floats:
    """Pass a signal through a mass on a damped spring (base excitation, gain 1 at rest)."""
    w = 2 * np.pi * own_hz
    b, a = bilinear([2 * damping * w, w * w], [1.0, 2 * damping * w, w * w], rate_hz)
    start = signal[0]
    return np.asarray(lfilter(b, a, signal - start) + start)


def swing(signal: Floats, rate_hz: float, own_hz: float, damping: float) -> Floats:
    """What a pendulum does when a signal pushes it: band-limited, no mean."""
    w = 2 * np.pi * own_hz
    b, a = bilinear([2 * damping * w, 0.0], [1.0, 2 * damping * w, w * w], rate_hz)
    return np.asarray(lfilter(b, a, signal - signal[0]))
