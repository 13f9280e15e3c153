"""The whole stage: a recording in; path, placement and clocks out."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np

from ingest.errors import ArenaError
from ingest.recording import Note, Recording
from track.arena import SIZES, Arena, Size
from track.evidence import Evidence
from track.fixes import clean
from track.gather import first_clock, first_noise, gathered, sample_of
from track.motion import Motion, on_clock, read_motion
from track.placement_prior import known_pose
from track.pose import Wanted, placed_ride
from track.smoother import Smoothed, smooth
from track.smoother_marginal import Volume
from track.smoother_prior import ClockPrior, usual_prior
from track.smoother_start import first_state, standing
from track.smoother_state import lag_of, shift_of
from track.solved import as_sure_as, clock_of, clock_prior, path_of
from track.stage import Track

ROUGH_STEPS: Final = 2
"""To within some tens of centimetres: the school is found by it, and drawn along the boards."""


def follow(
    recording: Recording,
    *,
    arena: Arena | None = None,
    size: Size | None = None,
    a_end_bearing_deg: float | None = None,
) -> Track:
    """Follow a ride from its fixes and motion.

    Parameters
    ----------
    recording : Recording
    arena : Arena, optional
        An arena file: gives the size, the ends and a first guess; the ride itself gives the frame.
    size : {"20x40", "20x60"}, optional
        Found out from the ride when left out.
    a_end_bearing_deg : float, optional, degrees
        Rough direction from A to C, clockwise from north.

    Raises
    ------
    RecordingError
        The fixes are no use.
    ArenaError
        ``size`` contradicts the arena file.

    Returns
    -------
    Track
    """
    motion = read_motion(recording)
    return follow_motion(
        recording, motion, arena=arena, size=size, a_end_bearing_deg=a_end_bearing_deg
    )


def follow_motion(
    recording: Recording,
    motion: Motion | None,
    *,
    arena: Arena | None = None,
    size: Size | None = None,
    a_end_bearing_deg: float | None = None,
) -> Track:
    """The same with the motion already taken out of the phone's axes."""
    if arena is not None and size is not None and arena.size != size:
        raise ArenaError(f"arena file: says {arena.size}, asked for {size}; leave one of them out")
    if recording.fixes is None:
        note = Note(
            code="no-positions",
            text="There are no positions: gaits and rhythm only, no path and no figures.",
            severity="warning",
        )
        return Track(path=None, placement=None, motion=motion, clock=None, notes=(note,))
    fixes = clean(recording.fixes)
    clock = first_clock(recording, fixes, motion)
    known = clock_prior(clock, motion)
    shift_s = known.shift.value
    evidence = standing(gathered(fixes, motion, shift_s), shift_s)
    local = _in_its_own_frame(evidence, known)
    sizes = (arena.size,) if arena else (size,) if size else SIZES
    wanted = Wanted(sizes=sizes, file=known_pose(arena, fixes.plane))
    placed, placement, notes = placed_ride(evidence, local, known, wanted, fixes.plane)
    if not placed.settled and placement is None:
        prior = usual_prior(clock=known)
        placed = smooth(evidence, placed.state, placed.noise, prior, room=placed.room)
    placed = as_sure_as(placed, known)
    clock = clock_of(recording, motion, placed, clock)
    if motion is not None and clock is not None:
        motion = on_clock(motion, clock.shift_s.value)
    track = Track(
        path=path_of(evidence, placed, "arena" if placement else "local"),
        placement=placement,
        motion=motion,
        clock=clock,
        notes=(*fixes.notes, *(clock.notes if clock else ()), *notes),
    )
    if any(note.code == "arena-file-elsewhere" for note in notes):
        arena = None
    return _ends(track, arena, a_end_bearing_deg)


def _in_its_own_frame(evidence: Evidence, clock: ClockPrior) -> Smoothed:
    """The ride smoothed without an arena; a long one after ten minutes taught the noise."""
    prior, shift_s = usual_prior(clock=clock), clock.shift.value
    sample = sample_of(evidence, shift_s)
    taught = smooth(
        sample,
        first_state(sample, shift_s=shift_s, lag_s=clock.lag.value),
        first_noise(evidence),
        prior,
        steps=9,
        learn=(1, 2, 3, 4),
    )
    if sample is evidence:
        return taught
    ride = taught.state.ride
    first = first_state(evidence, shift_s=shift_of(ride), lag_s=lag_of(ride))
    longer = len(evidence.t_s) / len(sample.t_s)
    room = Volume(slope=taught.room.slope * longer)
    return smooth(evidence, first, taught.noise, prior, steps=ROUGH_STEPS, room=room)


def _ends(track: Track, arena: Arena | None, a_end_bearing_deg: float | None) -> Track:
    """Settle which end is A, where there is ground to; else pick the end of the way in."""
    if track.placement is None or track.path is None:
        return track
    bearing = arena.bearing_deg if arena else a_end_bearing_deg
    if bearing is not None:
        because = "the arena file says so" if arena else "the option says so"
        off = (track.placement.arena.bearing_deg - bearing + 180.0) % 360.0 - 180.0
        if abs(off) > 90.0:
            return turned(track, because=because)
        settled = replace(track.placement, ends="known", ends_because=because)
        return replace(track, placement=settled)
    inside = np.flatnonzero(np.abs(track.path.x_m) < 11.0)
    early = track.path.y_m[inside[:20]] if len(inside) else track.path.y_m[:20]
    return _half_turned(track) if early.mean() > 0 else track


def turned(track: Track, *, because: str) -> Track:
    """The same track with the arena's ends exchanged, and known.

    Parameters
    ----------
    track : Track
        Returned unchanged when it has no placement.
    because : str
        The ground for it, for people.
    """
    half = _half_turned(track)
    if half.placement is None:
        return half
    return replace(half, placement=replace(half.placement, ends="known", ends_because=because))


def _half_turned(track: Track) -> Track:
    path, placement = track.path, track.placement
    if path is None or placement is None:
        return track
    other = replace(path, x_m=-path.x_m, y_m=-path.y_m, heading_rad=path.heading_rad + np.pi)
    arena = replace(placement.arena, bearing_deg=(placement.arena.bearing_deg + 180.0) % 360.0)
    return replace(track, path=other, placement=replace(placement, arena=arena))
