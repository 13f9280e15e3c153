"""What a horse of some height ordinarily does in each gait."""

from __future__ import annotations

from typing import Final

import numpy as np

from sample_rides.scenario import REFERENCE_WITHERS_M, Scenario
from track.sheet import GaitName

SPEED_MS: Final[dict[GaitName, float]] = {"halt": 0.0, "walk": 1.68, "trot": 3.61, "canter": 3.91}
"""Walk between collected and medium, working trot and canter: Clayton, Equine Vet J 1994;26:230,
Suppl 1994;17:16 [recalled]; trot as quoted in 10.3390/ani11020436."""
STRIDE_HZ: Final[dict[GaitName, float]] = {
    "halt": 0.0,
    "walk": 54 / 60,
    "trot": 79 / 60,
    "canter": 99 / 60,
}
"""Same sources."""
RATE_EXPONENT: Final[dict[GaitName, float]] = {
    "halt": 0.0,
    "walk": 0.26,
    "trot": 0.17,
    "canter": 0.10,
}
"""How stride rate grows with speed within a gait: slopes of the published table
(52 to 56 at 1.37 to 1.82 m/s, 77 to 83 at 3.20 to 4.93, 99 to 105 at 3.27 to 5.97)."""


def own_speed_ms(scenario: Scenario, gait: GaitName) -> float:
    """Ordinary speed of the horse in a gait (Froude: with the root of its height)."""
    size = np.sqrt(scenario.withers_m / REFERENCE_WITHERS_M)
    return float(SPEED_MS[gait] * size * scenario.speed_factor)


def own_rate_hz(scenario: Scenario, gait: GaitName) -> float:
    """Ordinary strides per second of the horse in a gait (with the inverse root)."""
    size = np.sqrt(REFERENCE_WITHERS_M / scenario.withers_m)
    return float(STRIDE_HZ[gait] * size * scenario.rate_factor)
