"""Horses from small pony to large horse: stride rate and speed by Froude's rule.

Rates and speeds at 1.65 m withers: Clayton's ridden horses (walk 55, trot 79, canter 99 strides a
minute; 1.73, 3.61, 3.91 m/s), the speeds a little below, as amateurs ride [common practice].
At equal Froude number speed goes with the root of the height and rate with its inverse.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

RATE_SPM = {"walk": 55.0, "trot": 79.0, "canter": 99.0}
SPEED_MS = {"halt": 0.0, "walk": 1.6, "trot": 3.3, "canter": 3.8}
REFERENCE_HEIGHT_M = 1.65


@dataclass(frozen=True, slots=True, kw_only=True)
class Horse:
    """One animal's own rates, speeds and evenness."""

    height_m: float
    stride_s: dict[str, float]
    speed_ms: dict[str, float]
    cv: dict[str, float]


def draw_horse(rng: np.random.Generator, height_m: float | None) -> Horse:
    """A horse or pony; its rates scatter by a few per cent about Froude's rule."""
    height = float(rng.uniform(1.20, 1.75)) if height_m is None else height_m
    scale = np.sqrt(height / REFERENCE_HEIGHT_M)
    own = rng.uniform(-0.06, 0.06)
    stride = {
        gait: 60.0 / spm * scale * (1 + own + rng.uniform(-0.03, 0.03))
        for gait, spm in RATE_SPM.items()
    }
    speed = {gait: ms * scale * rng.uniform(0.9, 1.1) for gait, ms in SPEED_MS.items()}
    cv = {
        "walk": rng.uniform(0.015, 0.035),
        "trot": rng.uniform(0.012, 0.03),
        "canter": rng.uniform(0.01, 0.025),
    }
    return Horse(height_m=height, stride_s=stride, speed_ms=speed, cv=cv)
