"""The whole stage: a recording in; path, placement and clocks out."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from ingest.columns import LAT_DEG, LON_DEG
from ingest.errors import ArenaError
from ingest.recording import Note, Recording
from track.arena import SIZES, Arena, Size
from track.boards import board_factors, sides_seen
from track.clocks import align
from track.evidence import EPOCH_S, Evidence, Fixes, Speeds, yaw_steps
from track.fixes import CleanFixes, clean
from track.geodesy import LocalPlane
from track.motion import Motion, on_clock, read_motion
from track.path import Bools, Estimate, Floats, Ints, Path
from track.placement import Pose, poses, ridden
from track.smoother import Prior, Smoothed, smooth, usual_prior
from track.smoother_band import Solution
from track.smoother_factors import (
    BLUR,
    BX,
    BY,
    DELAY,
    MX,
    MY,
    OFFSET,
    PSI,
    ROT,
    SHIFT_X,
    SHIFT_Y,
    Noise,
    State,
    V,
    X,
    Y,
    lag_of,
    shift_of,
)
from track.smoother_start import first_state
from track.stage import Clock, Placement, RunnerUp, Track

LEAST_SIDE_M: Final = 4.0
"""A side has been seen when so many metres were ridden along it."""
LEAST_SIDES: Final = 3
LEAST_BLUR_SDS: Final = 2.0
"""A receiver's lag counts when its square is so many sd from nought."""
DAY_ERROR_M: Final = 1.0
"""Error of a receiver that stays for a whole ride: repeats differ by 0.4-2.2 m [measured]."""


@dataclass(frozen=True, kw_only=True)
class PathPosterior:
    """Joint covariance of a path's epochs, from the smoother's solution."""

    solution: Solution

    def covariance(self, epochs: Ints) -> Floats:
        """Joint covariance of x and y; see :class:`track.path.Posterior`."""
        order = np.argsort(epochs, kind="stable")
        joint = self.solution.joint(np.asarray(epochs)[order], (X, Y))
        back = np.empty(len(order), dtype=np.int64)
        back[order] = np.arange(len(order))
        place = np.stack([2 * back, 2 * back + 1], axis=1).ravel()
        turned: Floats = joint[np.ix_(place, place)]
        return turned


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
    clock = _first_clock(recording, fixes, motion)
    shift = _clock_prior(clock, motion)
    evidence = gathered(fixes, motion, shift[0])
    lag_s = clock.lag_s.value if clock and clock.lag_s else 0.3
    local = smooth(
        evidence,
        first_state(evidence, shift_s=shift[0], lag_s=lag_s),
        _first_noise(evidence),
        usual_prior(clock=shift),
        steps=9,
        learn=(1, 2, 3, 4),
    )
    sizes = (arena.size,) if arena else (size,) if size else SIZES
    placed, placement, notes = _placed(evidence, local, shift, sizes, fixes.plane)
    clock = _clock(recording, motion, placed, clock)
    if motion is not None and clock is not None:
        motion = on_clock(motion, clock.shift_s.value)
    track = Track(
        path=path_of(evidence, placed, "arena" if placement else "local"),
        placement=placement,
        motion=motion,
        clock=clock,
        notes=(*fixes.notes, *(clock.notes if clock else ()), *notes),
    )
    return _ends(track, arena, a_end_bearing_deg)


def gathered(fixes: CleanFixes, motion: Motion | None, shift_s: float) -> Evidence:
    """Fixes, speeds, turns and stillness on one row of epochs."""
    slack_s = 1.0 if motion is not None else EPOCH_S / 2
    first = fixes.t_s[0] + shift_s - slack_s
    count = int(np.ceil((fixes.t_s[-1] + shift_s + slack_s - first) / EPOCH_S)) + 1
    t_s = first + EPOCH_S * np.arange(count)
    told = np.isfinite(fixes.speed_ms)
    return Evidence(
        t_s=t_s,
        fixes=Fixes(t_s=fixes.t_s, east_m=fixes.east_m, north_m=fixes.north_m, spread=fixes.spread),
        speeds=Speeds(
            t_s=fixes.t_s[told],
            speed_ms=fixes.speed_ms[told],
            course_rad=fixes.course_rad[told],
        ),
        yaw=yaw_steps(motion, t_s),
        still=_still(motion, t_s),
        reset_s=fixes.reset_s,
    )


def _still(motion: Motion | None, at_s: Floats) -> Bools:
    """Epochs in which the body stood still, from half an epoch before to half after."""
    if motion is None or not motion.still.any():
        return np.zeros(len(at_s), dtype=np.bool_)
    still = (motion.still & motion.valid).astype(np.float64)
    edges = [np.interp(at_s + d, motion.t_s, still, left=0, right=0) for d in (-0.25, 0.0, 0.25)]
    return np.asarray(np.min(edges, axis=0) > 0.99)


def _first_noise(evidence: Evidence) -> Noise:
    """Levels to start from; the motion stage knows its own."""
    if evidence.yaw is None:
        return Noise()
    return Noise(turn_rads=max(evidence.yaw.sd_rads, 0.005))


def _first_clock(recording: Recording, fixes: CleanFixes, motion: Motion | None) -> Clock | None:
    """How motion and positions lie together before the path is known."""
    if motion is None or recording.fixes is None:
        return None
    table = recording.fixes
    east, north = fixes.plane.to_plane(table[LAT_DEG].to_numpy(), table[LON_DEG].to_numpy())
    return align(motion, table, east, north, clocks_shared=recording.clocks_shared)


def _placed(
    evidence: Evidence,
    local: Smoothed,
    shift: tuple[float, float],
    sizes: tuple[Size, ...],
    plane: LocalPlane,
) -> tuple[Smoothed, Placement | None, tuple[Note, ...]]:
    """The ride in the arena's frame, or as it was when no school is found in it."""
    e = local.state.epochs
    ride = ridden(e[:, X], e[:, Y], e[:, PSI], e[:, V])
    if len(ride.x_m) < 60:
        return local, None, (_no_school("the ride is too short"),)
    tried = poses(ride, sizes)
    best = tried[0]

    def boards(state: State) -> list[object]:
        return list(board_factors(state, best.size))

    prior = _told_blur(usual_prior(posed=True, clock=shift), local)
    placed = smooth(
        evidence,
        posed_state(local.state, best),
        local.noise,
        prior,
        extra=boards,  # type: ignore[arg-type]
        steps=10,
        cautious=0,
        learn=(1, 3),
        room=local.room,
    )
    seen = sides_seen(placed.state, best.size)
    if sum(metres >= LEAST_SIDE_M for metres in seen.values()) < LEAST_SIDES:
        return local, None, (_no_school("fewer than three sides were ridden along"),)
    return placed, _placement(placed, best, tried[1:], plane), _side_notes(seen)


def _told_blur(prior: Prior, local: Smoothed) -> Prior:
    """The prior of the placed run: a lag that hardly shows is taken as none.

    The square of the lag cannot be less than nought, so noise alone shows a lag; and a lag that
    is not there moves every place along the path.
    """
    sd = local.parameter_sd(BLUR)
    if local.state.ride[BLUR] > LEAST_BLUR_SDS * sd:
        return prior
    value, spread = prior.value.copy(), prior.sd.copy()
    value[BLUR], spread[BLUR] = 0.0, sd / 2
    return Prior(value=value, sd=spread)


def posed_state(state: State, pose: Pose) -> State:
    """A local linearisation point in an arena's frame."""
    cos, sin = np.cos(pose.rotation_rad), np.sin(pose.rotation_rad)
    epochs, ride = state.epochs.copy(), state.ride.copy()
    for a, b, moved in ((X, Y, True), (MX, MY, True), (BX, BY, False)):
        x, y = state.epochs[:, a], state.epochs[:, b]
        epochs[:, a] = cos * x - sin * y + (pose.shift_x_m if moved else 0.0)
        epochs[:, b] = sin * x + cos * y + (pose.shift_y_m if moved else 0.0)
    epochs[:, PSI] += pose.rotation_rad
    ride[[ROT, SHIFT_X, SHIFT_Y]] = pose.rotation_rad, pose.shift_x_m, pose.shift_y_m
    return State(epochs=epochs, ride=ride)


def _no_school(why: str) -> Note:
    return Note(
        code="no-school",
        text=f"No school was found in this ride: {why}. Nothing is placed; one lap along the "
        "boards on each rein would settle it.",
        severity="warning",
    )


def _side_notes(seen: dict[str, float]) -> tuple[Note, ...]:
    if all(metres >= LEAST_SIDE_M for metres in seen.values()):
        return ()
    return (
        Note(
            code="few-sides",
            text="One side of the school was not ridden along: the placement is less sure. "
            "Ride a lap along all four boards.",
            severity="warning",
        ),
    )


def _placement(placed: Smoothed, best: Pose, others: list[Pose], plane: LocalPlane) -> Placement:
    ride, cov = placed.state.ride, placed.solution.border
    arena = _arena_at(
        ride[[ROT, SHIFT_X, SHIFT_Y]],
        best.size,
        plane,
        sd_m=float(
            np.hypot(np.sqrt((cov[SHIFT_X, SHIFT_X] + cov[SHIFT_Y, SHIFT_Y]) / 2), DAY_ERROR_M)
        ),
        bearing_sd_deg=float(np.degrees(placed.parameter_sd(ROT))),
    )
    rival = next((pose for pose in others if _differs(pose, best)), None)
    runner_up = None
    if rival is not None:
        there = _arena_at(
            np.array([rival.rotation_rad, rival.shift_x_m, rival.shift_y_m]), rival.size, plane
        )
        runner_up = RunnerUp(
            size=rival.size,
            x_lat_deg=there.x_lat_deg,
            x_lon_deg=there.x_lon_deg,
            bearing_deg=there.bearing_deg,
            log_odds=best.log_likelihood - rival.log_likelihood,
        )
    return Placement(
        arena=arena,
        source="ride",
        ends="unknown",
        ends_because="geometry cannot tell A from C",
        track_offset_m=Estimate(value=float(ride[OFFSET]), sd=placed.parameter_sd(OFFSET)),
        runner_up=runner_up,
    )


def _differs(pose: Pose, best: Pose) -> bool:
    turned = (pose.rotation_rad - best.rotation_rad + np.pi / 2) % np.pi - np.pi / 2
    return pose.size != best.size or abs(float(turned)) > np.radians(15.0)


def _arena_at(
    pose: Floats, size: Size, plane: LocalPlane, sd_m: float = 0.0, bearing_sd_deg: float = 0.0
) -> Arena:
    """An arena from the pose that takes the plane into it."""
    cos, sin = np.cos(pose[0]), np.sin(pose[0])
    east, north = -(cos * pose[1] + sin * pose[2]), sin * pose[1] - cos * pose[2]
    lat, lon = plane.to_earth(east, north)
    return Arena(
        size=size,
        x_lat_deg=float(lat),
        x_lon_deg=float(lon),
        bearing_deg=float(np.degrees(pose[0])) % 360.0,
        sd_m=sd_m,
        bearing_sd_deg=bearing_sd_deg,
    )


def _clock_prior(clock: Clock | None, motion: Motion | None) -> tuple[float, float]:
    """Shift of the motion clock and how freely the path may move it.

    The first guess came from the same fixes and turns: it says where to look, not how surely.
    Without turns the path can say nothing better.
    """
    if clock is None or motion is None:
        return 0.0, 1e-4
    return clock.shift_s.value, max(3 * clock.shift_s.sd, 0.5) if motion.has_gyro else 1e-4


def _clock(
    recording: Recording, motion: Motion | None, placed: Smoothed, first: Clock | None
) -> Clock | None:
    if motion is None or not motion.has_gyro:
        return first
    ride, cov = placed.state.ride, placed.solution.border
    slope = _lag_slope(placed)
    spread = np.array([1.0, slope]) @ cov[np.ix_([DELAY, BLUR], [DELAY, BLUR])]
    shift = Estimate(value=shift_of(ride), sd=float(np.sqrt(spread @ [1.0, slope])))
    lag = Estimate(value=lag_of(ride), sd=slope * placed.parameter_sd(BLUR))
    return Clock(
        offset_s=shift if recording.clocks_shared else None,
        shift_s=shift,
        lag_s=lag,
        notes=first.notes if first else (),
    )


def _lag_slope(smoothed: Smoothed) -> float:
    """Change of the lag with its square over one sd either way; its derivative has no end."""
    blur_s2, sd = float(smoothed.state.ride[BLUR]), smoothed.parameter_sd(BLUR)
    high, low = np.sqrt(max(blur_s2 + sd, 0.0)), np.sqrt(max(blur_s2 - sd, 0.0))
    return float((high - low) / (2 * sd))


def _at_fix_times(smoothed: Smoothed) -> Solution:
    """The covariance at fixed times of the positions' clock, the doubt of the clocks added.

    The smoother's epochs lie on the motion clock; at a time of the other clock the path moves on
    with the shift.
    """
    e, lean = smoothed.state.epochs, smoothed.solution.lean.copy()
    for column in (X, Y, PSI, V):
        rate = np.gradient(e[:, column], EPOCH_S)
        lean[:, column, DELAY] += rate
        lean[:, column, BLUR] += rate * _lag_slope(smoothed)
    return replace(smoothed.solution, lean=lean)


def path_of(evidence: Evidence, smoothed: Smoothed, frame: str) -> Path:
    """The path and its marginal uncertainties."""
    e = smoothed.state.epochs
    solution = _at_fix_times(smoothed)
    sd = np.sqrt(np.einsum("kii->ki", solution.marginals()))
    return Path(
        t_s=evidence.t_s - shift_of(smoothed.state.ride),
        x_m=e[:, X],
        y_m=e[:, Y],
        sd_x_m=sd[:, X],
        sd_y_m=sd[:, Y],
        speed_ms=e[:, V],
        speed_sd_ms=sd[:, V],
        heading_rad=e[:, PSI],
        heading_sd_rad=sd[:, PSI],
        turn_rads=np.gradient(e[:, PSI], EPOCH_S),
        posterior=PathPosterior(solution=solution),
        frame="arena" if frame == "arena" else "local",
    )


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
