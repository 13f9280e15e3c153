"""What really happened in a made-up ride, in the frames and on the clock of a result.

Times are ``t_s``: seconds since the earliest position fix, on the clock the positions show. A
pure delay of the receiver cannot be told from an offset of the clocks, so it is counted into
``clock_offset_s`` and everything else is told as the positions show it.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass, fields
from typing import Any, Final, Literal

import numpy as np

from track.arena import Size
from track.path import Floats
from track.sheet import GaitName, Rein

PATH_RATE_HZ: Final = 10.0


@dataclass(frozen=True, slots=True, kw_only=True)
class TruePath:
    """The ridden line in time, without the trunk's motion within a stride.

    Attributes
    ----------
    t_s : array, shape (n,), s
        Every 0.1 s.
    x_m, y_m : array, shape (n,), m
        Arena frame.
    heading_deg : array, shape (n,), degrees
        0 along +x, anticlockwise, unwrapped.
    speed_ms : array, shape (n,), m/s
    """

    t_s: Floats
    x_m: Floats
    y_m: Floats
    heading_deg: Floats
    speed_ms: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class TrueBout:
    """One gait over ``[start_s, end_s)``; ``"unknown"`` while the phone is in the hand."""

    gait: GaitName | Literal["unknown"]
    start_s: float
    end_s: float
    lead: Rein | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class TrueStride:
    """One full cycle of the legs."""

    t_s: float
    duration_s: float
    gait: GaitName


@dataclass(frozen=True, slots=True, kw_only=True)
class TrueTransition:
    """One change of gait from old to new, whatever lies between.

    Attributes
    ----------
    from_gait, to_gait : str
        ``from`` and ``to`` in JSON.
    t_s : float, s
        Start of the new gait.
    x_m, y_m : float, m
    between_strides : float
        Strides in neither gait.
    placement_m : float or None, m
        Onset against its letter along the ridden line, negative = early; against the nearer end
        of a window, 0 inside; None outside the sheet and for a halt.
    halt_place_m : float or None, m
        The same for a halt.
    movement, change : int or None
        Movement, and which of its changes (from 1); None outside the sheet.
    run : int
    """

    from_gait: GaitName
    to_gait: GaitName
    t_s: float
    x_m: float
    y_m: float
    between_strides: float
    placement_m: float | None
    halt_place_m: float | None
    movement: int | None
    change: int | None
    run: int


@dataclass(frozen=True, slots=True, kw_only=True)
class TrueMovement:
    """When a movement was ridden."""

    number: int
    run: int
    start_s: float
    end_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class TrueFigure:
    """A circle or half circle as it was ridden, in the measures of the findings.

    Attributes
    ----------
    diameter_m : float, m
        Of the geometric least-squares circle.
    width_m : float, m
        Extent across the heading at the start.
    out_of_round_m : float or None, m
        Peak to valley about that circle, waves of 1 to 4 per revolution; None for half circles.
    length_minus_width_m : float, m
        Extent along y less extent along x.
    centre_x_m, centre_y_m : float, m
    """

    kind: Literal["circle", "half circle"]
    rein: Rein
    start_s: float
    end_s: float
    movement: int
    run: int
    diameter_m: float
    width_m: float
    out_of_round_m: float | None
    length_minus_width_m: float
    centre_x_m: float
    centre_y_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class TrueEvent:
    """Something that was not planned."""

    kind: Literal["break", "jog", "stumble", "spook", "phone moved"]
    start_s: float
    end_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class TrueCourseError:
    """Where the ride left the test."""

    kind: str
    movement: int
    t_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class TrueArena:
    """Where the arena lies, and how far inside the boards the course ran."""

    size: Size
    x_lat_deg: float
    x_lon_deg: float
    bearing_deg: float
    track_offset_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Truth:
    """All that is true of a ride.

    Attributes
    ----------
    clock_offset_s : float or None, s
        Motion clock minus position clock, the receiver's pure delay counted in; None when the
        clocks share no epoch.
    motion_shift_s : float, s
        What is subtracted from the recording's motion times to lie on the positions' clock.
    receiver_lag_s : float, s
    handled_s, rising_s : tuple of (float, float)
        Spans with the phone in the hand; spans of rising trot.
    noise : dict
        Sizes of the noise that was put on.
    scenario, faults : dict, list of dict
        What the ride was made from.
    """

    path: TruePath
    bouts: tuple[TrueBout, ...]
    strides: tuple[TrueStride, ...]
    transitions: tuple[TrueTransition, ...]
    movements: tuple[TrueMovement, ...]
    figures: tuple[TrueFigure, ...]
    events: tuple[TrueEvent, ...]
    course_errors: tuple[TrueCourseError, ...]
    arena: TrueArena
    clock_offset_s: float | None
    motion_shift_s: float
    receiver_lag_s: float
    handled_s: tuple[tuple[float, float], ...]
    rising_s: tuple[tuple[float, float], ...]
    noise: dict[str, Any]
    scenario: dict[str, Any]
    faults: tuple[dict[str, Any], ...]
    seed: int

    def as_json(self) -> dict[str, Any]:
        """Plain data with the keys of ``truth.json``, times to a millisecond, metres to 1 mm."""
        plain: dict[str, Any] = {"schema": "tanbark.truth/1"}
        for item in fields(self):
            plain[item.name] = _plain(getattr(self, item.name))
        return plain


_RENAMED: Final = {"from_gait": "from", "to_gait": "to"}
_EXACT: Final = frozenset({"x_lat_deg", "x_lon_deg", "lat_deg", "lon_deg"})


def _plain(value: Any) -> Any:
    if isinstance(value, np.ndarray):
        return [round(item, 3) for item in value.tolist()]
    if isinstance(value, tuple | list):
        return [_plain(item) for item in value]
    if isinstance(value, dict):
        return {
            _RENAMED.get(key, key): item if key in _EXACT else _plain(item)
            for key, item in value.items()
        }
    if hasattr(value, "__dataclass_fields__"):
        return _plain(asdict(value))
    if isinstance(value, float | np.floating):
        return round(float(value), 4)
    return value
