"""How the rider's trunk moves within a stride: harmonics locked to the stride's phase.

Phase 0 is the lowest point of the first of the stride's two vertical beats (walk, trot) or of its
one (canter). The sizes: displacement of the second harmonic over the first about 2.9 in walk, of
first over second about 11 in canter [measured on side views of horses]; peak-to-peak range about
4-5 cm in walk, 8-10 cm in trot, 12-16 cm in canter [recalled]; peak force on the horse's back
2.9 body weights sitting, 2.54 and 1.95 on alternate beats rising (10.1016/j.jbiomech.2009.10.036).
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.random import Generator

from track.path import Floats

AXES: Final = ("forward", "left", "up", "roll", "pitch", "yaw")
"""Displacements in metres and turns in radians about forward, left and up."""
Harmonic = tuple[str, int, float, float]
"""Axis, cycles per stride, amplitude (m, or degrees for turns), phase in radians."""

_ANY: Final = np.nan
"""A phase that differs from horse to horse and is drawn."""

PATTERNS: Final[dict[str, tuple[Harmonic, ...]]] = {
    "walk": (
        ("up", 2, -0.0190, 0.0), ("up", 1, 0.0065, _ANY), ("up", 4, -0.0006, 0.3),
        ("up", 3, 0.0010, _ANY),
        ("forward", 2, 0.016, 1.2), ("forward", 1, 0.005, _ANY),
        ("left", 1, 0.022, _ANY), ("left", 2, 0.004, _ANY),
        ("pitch", 2, 1.8, 0.8), ("pitch", 1, 0.6, _ANY),
        ("roll", 1, 3.2, _ANY), ("yaw", 1, 2.5, _ANY),
    ),
    "trot": (
        ("up", 2, -0.0430, 0.0), ("up", 4, -0.0045, 0.0), ("up", 6, -0.0008, 0.3),
        ("up", 1, 0.0080, _ANY), ("up", 3, 0.0015, _ANY),
        ("forward", 2, 0.012, 0.9), ("forward", 4, 0.002, _ANY), ("forward", 1, 0.004, _ANY),
        ("left", 1, 0.012, _ANY), ("left", 3, 0.002, _ANY),
        ("pitch", 2, 1.6, 0.7), ("pitch", 1, 0.6, _ANY),
        ("roll", 1, 2.2, _ANY), ("yaw", 1, 1.5, _ANY),
    ),
    "canter": (
        ("up", 1, -0.0650, 0.0), ("up", 2, -0.0055, 0.6), ("up", 3, -0.0018, 0.2),
        ("up", 4, 0.0006, _ANY),
        ("forward", 1, 0.050, 1.0), ("forward", 2, 0.006, _ANY),
        ("left", 1, 0.016, 0.5), ("left", 2, 0.003, _ANY),
        ("pitch", 1, 5.0, 0.9), ("pitch", 2, 0.8, _ANY),
        ("roll", 1, 2.4, 0.4), ("yaw", 1, 2.4, 1.1),
    ),
    "rising": (
        ("up", 2, 0.0120, 0.0), ("up", 4, 0.0012, 0.0), ("up", 1, -0.0420, 0.0),
        ("forward", 1, 0.035, 1.3), ("pitch", 1, 3.5, 0.6),
    ),
}  # fmt: skip
"""``rising`` is added to ``trot`` while the rider rises: less of the horse's beat, and her own
rise once a stride, lowest on the diagonal she sits on."""


def own_pattern(pattern: Sequence[Harmonic], rng: Generator) -> tuple[Harmonic, ...]:
    """One horse's and rider's own version of a pattern."""
    return tuple(
        (
            axis,
            cycles,
            amplitude * float(np.exp(0.15 * rng.standard_normal())),
            float(rng.uniform(0, 2 * np.pi))
            if np.isnan(phase)
            else phase + 0.12 * float(rng.standard_normal()),
        )
        for axis, cycles, amplitude, phase in pattern
    )


def summed(
    pattern: Sequence[Harmonic],
    phase: Floats,
    *,
    mirror: bool = False,
    odd: Floats | float = 1.0,
) -> Floats:
    """Sum of harmonics; ``odd`` scales those of odd order, ``mirror`` swaps left and right."""
    moved = np.zeros((len(AXES), len(phase)))
    for axis, cycles, amplitude, offset in pattern:
        row = AXES.index(axis)
        scale = amplitude if row < 3 else np.radians(amplitude)
        if mirror and axis in {"left", "roll", "yaw"}:
            scale = -scale
        wave = scale * np.cos(2.0 * np.pi * cycles * phase + offset)
        moved[row] += wave * odd if cycles % 2 else wave
    return moved
