"""What really happened in a ride of the second model, on the positions' clock."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class TrueBout:
    """One gait over ``[start_s, end_s)``."""

    gait: str
    start_s: float
    end_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class TrueStride:
    """One full cycle of the legs."""

    t_s: float
    duration_s: float
    gait: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TrueTransition:
    """Start of a new gait."""

    from_gait: str
    to_gait: str
    t_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class TrueFigure:
    """A full circle that was ridden."""

    rein: str
    nominal_m: float
    start_s: float
    end_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SecondTruth:
    """The truth of one ride.

    Every time is on the positions' clock with the receiver's pure delay counted in: a fix stamped
    ``t_s`` is the low-passed path at ``t_s``. ``shift_s`` is what must be subtracted from the
    motion table's ``t_s`` to lie on that clock; ``clock_offset_s`` is the same where both clocks
    share an epoch, else None. ``x_m, y_m`` are arena metres of the path at ``t_s``.
    """

    t_s: Floats
    x_m: Floats
    y_m: Floats
    speed_ms: Floats
    turn_rads: Floats
    bouts: tuple[TrueBout, ...]
    strides: tuple[TrueStride, ...]
    transitions: tuple[TrueTransition, ...]
    figures: tuple[TrueFigure, ...]
    rising: bool
    height_m: float
    pocket: str
    shift_s: float
    clock_offset_s: float | None
    receiver_lag_s: float
    handled_s: tuple[tuple[float, float], ...]
    moved_s: tuple[float, ...]
    x_lat_deg: float
    x_lon_deg: float
    bearing_deg: float
    size: str

    def gait_at(self, t_s: float) -> str:
        """Gait at one time, empty outside the ride."""
        for bout in self.bouts:
            if bout.start_s <= t_s < bout.end_s:
                return bout.gait
        return ""
