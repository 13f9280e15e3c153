"""What one file holds, before the files of a ride are laid together: stamped columns."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from ingest.recording import Note

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Ints = NDArray[np.int64]

Quantity = Literal["acceleration", "linear_acceleration", "gravity", "turn_rate", "unnamed"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Clock:
    """The clock a file's stamps were taken from.

    Attributes
    ----------
    kind : {"epoch", "zoneless", "elapsed"}
        UTC; a date and time without its zone; or seconds since some start or boot.
    owner : str
        For elapsed clocks: the folder or archive, or else the file, whose start they count from.
    """

    kind: Literal["epoch", "zoneless", "elapsed"]
    owner: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stream:
    """One vector sensor of one file.

    Attributes
    ----------
    name : str
        The file's name.
    quantity : str
        What the header says it is.
    clock : Clock
    t_s : array, shape (n,), s
        Ascending; since 1970 for an epoch clock.
    xyz : array, shape (n, 3)
        In the file's own unit until it is settled.
    unit : str
        As the header says, or empty.
    notes : tuple of Note
    """

    name: str
    quantity: Quantity
    clock: Clock
    t_s: Floats
    xyz: Floats
    unit: str = ""
    notes: tuple[Note, ...] = field(default=())


@dataclass(frozen=True, slots=True, kw_only=True)
class Positions:
    """The positions of one file.

    Attributes
    ----------
    name : str
        The file's name.
    clock : Clock
    gpx : bool
        True for a GPX file, which goes before a location table.
    t_s : array, shape (n,), s
        Ascending; since 1970 for an epoch clock.
    lat_deg, lon_deg, accuracy_m, speed_ms, course_deg : array, shape (n,)
        NaN where not reported (latitude and longitude always are).
    segment : array of int, shape (n,)
        As the file says; 0 where it does not.
    notes : tuple of Note
    """

    name: str
    clock: Clock
    gpx: bool
    t_s: Floats
    lat_deg: Floats
    lon_deg: Floats
    accuracy_m: Floats
    speed_ms: Floats
    course_deg: Floats
    segment: Ints
    notes: tuple[Note, ...] = field(default=())
