"""The stage's result: path, placement and clocks of one recording."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from ingest.recording import Note
from track.arena import Arena, Size
from track.motion import Motion
from track.path import Estimate, Path


@dataclass(frozen=True, slots=True, kw_only=True)
class Clock:
    """How the motion clock and the receiver stand to the positions' clock.

    Attributes
    ----------
    offset_s : Estimate or None
        Motion clock minus position clock, pure delay of the receiver counted in; None when the
        two have no common epoch (then only ``shift_s`` says how they were laid together).
    shift_s : Estimate
        What is subtracted from the motion table's ``t_s`` to lie on the positions' clock.
    lag_s : Estimate or None
        Time constant of the receiver's first-order low-pass.
    notes : tuple of Note
    """

    offset_s: Estimate | None
    shift_s: Estimate
    lag_s: Estimate | None
    notes: tuple[Note, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class RunnerUp:
    """The next best placement, and how much worse it is (natural log of the odds)."""

    size: Size
    x_lat_deg: float
    x_lon_deg: float
    bearing_deg: float
    log_odds: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Placement:
    """The arena as the ride shows it, with what is known of its ends."""

    arena: Arena
    source: Literal["file", "ride"]
    ends: Literal["known", "unknown"]
    ends_because: str
    track_offset_m: Estimate
    runner_up: RunnerUp | None = None
    school_log_odds: float | None = None
    """Natural logarithm of the odds that there was a school at all."""
    because: str = ""
    """What showed the school, as one clause for people."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Track:
    """Everything the track stage found out.

    Attributes
    ----------
    path : Path or None
        None without positions; in the local frame when ``placement`` is None.
    placement : Placement or None
        None when no school was found; ``notes`` says why.
    motion : Motion or None
        On the positions' clock when there are positions.
    clock : Clock or None
        None unless there are both motion and positions.
    notes : tuple of Note
    """

    path: Path | None
    placement: Placement | None
    motion: Motion | None
    clock: Clock | None
    notes: tuple[Note, ...] = ()
