"""Small made-up motion, straight from facts.md section 4: sums of harmonics, nothing else.

Not the product's simulator and not the second model: only enough to exercise one function.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from track.motion import Motion
from track.path import Bools, Floats

RATE_HZ = 50.0
STRIDES_PER_S = {"walk": 0.92, "trot": 1.32, "canter": 1.65}  # Clayton [recalled]
# (axis, harmonic, amplitude m/s², phase): axis 0 up, 1 forward, 2 to the left
SHAPE = {
    "walk": [(0, 2, 1.5, 0.3), (0, 1, 0.3, 1.0), (1, 2, 0.9, 1.1), (2, 1, 0.8, 0.2)],
    "trot": [(0, 2, 5.5, 0.1), (0, 4, 0.8, 1.0), (1, 2, 1.4, 0.9), (2, 1, 1.0, 0.4)],
    "canter": [(0, 1, 5.0, 0.5), (0, 2, 1.3, 2.0), (1, 1, 2.4, 1.5), (2, 1, 1.0, 2.5)],
}  # fmt: skip
RISING = (0, 1, 2.0, 0.7)


@dataclass(frozen=True, slots=True, kw_only=True)
class Made:
    motion: Motion
    bouts: list[tuple[str, float, float]]
    strides: list[tuple[float, float, str]]


def made_ride(
    plan: list[tuple[str, float]],
    *,
    seed: int = 0,
    scale: float = 1.0,
    cv: float = 0.02,
    noise_ms2: float = 0.4,
    azimuth_rad: float = 0.7,
    rising: bool = False,
    late_pace: bool = False,
) -> Made:
    """A ride of gaits for given seconds; strides vary independently with coefficient ``cv``.

    With ``late_pace`` the first stride of a gait is as long as the last of the gait before.
    """
    rng = np.random.default_rng(seed)
    bouts: list[tuple[str, float, float]] = []
    strides: list[tuple[float, float, str]] = []
    pieces: list[tuple[str, float, float, Floats | None]] = []
    start = 0.0
    for gait, seconds in plan:
        if gait == "halt":
            end = start + seconds
            pieces.append((gait, start, end, None))
        else:
            mean = 1.0 / (STRIDES_PER_S[gait] * scale)
            count = max(1, round(seconds / mean))
            durations = mean * (1.0 + cv * rng.standard_normal(count))
            if late_pace and strides and bouts[-1][0] != "halt":
                durations[0] = strides[-1][1]
            edges = start + np.concatenate([[0.0], np.cumsum(durations)])
            strides += [(float(t), float(d), gait) for t, d in zip(edges, durations, strict=False)]
            end = float(edges[-1])
            pieces.append((gait, start, end, edges))
        bouts.append((gait, start, end))
        start = end
    t = np.arange(int(start * RATE_HZ)) / RATE_HZ
    signal = noise_ms2 * rng.standard_normal((3, t.size)) * (0.25 + 0.75 * _moving(t, bouts))
    for gait, begin, end, corners in pieces:
        if corners is None:
            continue
        inside = (t >= begin) & (t < end)
        phase = np.interp(t[inside], corners, np.arange(corners.size))
        shape = SHAPE[gait] + ([RISING] if rising and gait == "trot" else [])
        for axis, harmonic, size, angle in shape:
            signal[axis, inside] += size * np.cos(2.0 * np.pi * harmonic * phase + angle)
    return Made(motion=motion_of(t, signal, azimuth_rad), bouts=bouts, strides=strides)


def motion_of(
    t_s: Floats, signal: Floats, azimuth_rad: float = 0.0, rate_hz: float = RATE_HZ
) -> Motion:
    """Motion from up, forward and leftward acceleration, shape (3, n)."""
    up, forward, left = signal
    c, s = np.cos(azimuth_rad), np.sin(azimuth_rad)
    nothing = np.full(t_s.size, np.nan)
    yes: Bools = np.ones(t_s.size, dtype=np.bool_)
    return Motion(
        t_s=t_s, rate_hz=rate_hz, up_ms2=up,
        level_a_ms2=c * forward - s * left, level_b_ms2=s * forward + c * left,
        turn_rads=nothing, turn_sd_rads=float("nan"), still=~yes,
        beat_hz=nothing, beat_regularity=np.zeros(t_s.size),
        valid=yes, moved_s=(), has_gyro=False,
    )  # fmt: skip


def _moving(t_s: Floats, bouts: list[tuple[str, float, float]]) -> Floats:
    out = np.zeros(t_s.size)
    for gait, begin, end in bouts:
        out[(t_s >= begin) & (t_s < end)] = 0.0 if gait == "halt" else 1.0
    return out
