"""What the functions that draw figures share."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Final

from track.layout import Stretch
from track.lines import Pose
from track.pen import Pen
from track.pen_strokes import RideError
from track.sheet import Rein
from track.terms import Ride

CLOSE_M: Final = 1e-6


SIGN: Final[Mapping[Rein, float]] = {"left": 1.0, "right": -1.0}


def room_m(pen: Pen, pose: Pose) -> float:
    """How far one can go straight on before the boards."""
    c, s = math.cos(pose.heading_rad), math.sin(pose.heading_rad)
    if abs(c) > abs(s):
        return pen.half_width_m - pose.x_m * math.copysign(1.0, c)
    return pen.half_length_m - pose.y_m * math.copysign(1.0, s)


def sided(ride: Ride) -> Rein:
    """Side of a term that needs one."""
    if ride.side is None:
        raise RideError("left or right is missing")
    return ride.side


def sized(ride: Ride) -> float:
    """Size of a term that needs one, metres."""
    if ride.size_m is None:
        raise RideError("the size is missing")
    return ride.size_m


def stretch_of(
    pen: Pen,
    ride: Ride,
    start_m: float,
    *,
    end_m: float | None = None,
    rein: Rein | None = None,
    centre_m: tuple[float, float] | None = None,
    radius_m: float | None = None,
    width_m: float | None = None,
    loops: int = 0,
    arc_m: tuple[float, float] | None = None,
    straight_m: tuple[float, float] | None = None,
) -> Stretch:
    """What was drawn for a term, up to where the pen is unless an end is given."""
    return Stretch(
        kind=ride.kind,
        text=ride.text,
        start_m=start_m,
        end_m=pen.length_m if end_m is None else end_m,
        rein=rein,
        nominal_m=ride.size_m,
        centre_m=centre_m,
        radius_m=radius_m,
        width_m=width_m,
        loops=loops,
        arc_m=arc_m,
        straight_m=straight_m,
    )
