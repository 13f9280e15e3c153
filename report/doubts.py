"""Doubt that the path's own does not hold, measured on made-up rides of known truth."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

import numpy as np

from track.path import Estimate

WITHOUT_TURN_RATE: Final[Mapping[str, float]] = {
    "crossing_angle": 8.0,
    "wander": 0.12,
    "overshoot": 0.3,
    "loop_depth": 0.45,
    "out_of_round": 0.12,
    "length_minus_width": 0.2,
    "quarter_spread": 0.35,
    "tempo_range": 0.4,
    "halt_time": 0.45,
    "second_half": 0.3,
}
"""Standard uncertainty added, in the unit of the measure, where the gyroscope was not recorded:
positions smooth a line's short bends away, and the clocks lie together only roughly."""


def with_doubt(measure: str, estimate: Estimate, *, gyro: bool) -> Estimate:
    """Add the doubt of what was not recorded."""
    extra = 0.0 if gyro else WITHOUT_TURN_RATE.get(measure, 0.0)
    return Estimate(value=estimate.value, sd=float(np.hypot(estimate.sd, extra)))
