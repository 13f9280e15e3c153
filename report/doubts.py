"""Doubt that the path's own does not hold, measured on made-up rides of known truth."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

import numpy as np

from track.path import Estimate

ALWAYS: Final[Mapping[str, float]] = {
    "wander": 0.03,
    "heading_wobble": 0.3,
    "length_minus_width": 0.15,
    "overshoot": 0.1,
    "loop_depth": 0.2,
    "leave_place": 0.4,
    "arrive_place": 0.4,
}
"""Standard uncertainty added to that of the path, in the unit of the measure, for what the path's
model smooths away: bends shorter than a few strides, and a track that is drawn towards the ride's
mean distance from the boards."""
WITHOUT_TURN_RATE: Final[Mapping[str, float]] = {
    "crossing_angle": 8.0,
    "wander": 0.12,
    "overshoot": 0.3,
    "loop_depth": 0.45,
    "out_of_round": 0.12,
    "length_minus_width": 0.2,
    "quarter_spread": 0.35,
    "tempo_range": 0.4,
    "halt_time": 0.3,
    "second_half": 0.3,
}
"""Standard uncertainty added, in the unit of the measure, where the gyroscope was not recorded:
positions smooth a line's short bends away, and the clocks lie together only roughly."""


def with_doubt(measure: str, estimate: Estimate, *, gyro: bool) -> Estimate:
    """Add the doubt that the path's own does not hold, and that of what was not recorded."""
    missing = 0.0 if gyro else WITHOUT_TURN_RATE.get(measure, 0.0)
    extra = np.hypot(ALWAYS.get(measure, 0.0), missing)
    return Estimate(value=estimate.value, sd=float(np.hypot(estimate.sd, extra)))
