"""The ride brought into the arena's frame, with the boards as a ruler."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from ingest.recording import Note
from track.arena import Arena, Size
from track.boards import BY_PLACES, BY_TURNS, Ruler, board_factors, sides_seen
from track.evidence import Evidence
from track.geodesy import LocalPlane
from track.path import Estimate, Floats
from track.placement import Pose, poses, ridden
from track.placement_evidence import LEAST_LOG_ODDS, TOLD_LOG_ODDS, school_evidence
from track.placement_prior import DAY_ERROR_M, MOST_SDS, KnownPose, is_elsewhere
from track.smoother import Smoothed, smooth
from track.smoother_band import Factor
from track.smoother_prior import ClockPrior, Prior, usual_prior
from track.smoother_state import BX, BY, MX, MY, OFFSET, PSI, ROT, SHIFT_X, SHIFT_Y, State, V, X, Y
from track.stage import Placement, RunnerUp

LEAST_SIDE_M: Final = 4.0
"""A side has been seen when so many metres were ridden along it."""
LEAST_SIDES: Final = 3
LEAST_INSIDE_M: Final = 100.0
"""With an arena file, so many metres inside it are enough to go by it."""
ROUGH_LOG_ODDS: Final = 3.0
"""How much the boards may still add to the evidence of a rough pose."""
ANYWHERE_M: Final = 100.0
"""Spread about a first pose that leaves it to the boards."""
STRONG_LOG_ODDS: Final = 6.0
"""Evidence that is enough without three sides for a ruler."""
ROUGH_POSE_M: Final = 2.0
"""How well a rough pose is known, per axis, from riding that fills the school."""
LEAST_MOVING: Final = 60
"""Epochs of riding below which no school is looked for."""
SHORT_EPOCHS: Final = 2000
_ELSEWHERE: Final = Note(
    code="arena-file-elsewhere",
    text="The arena file lies elsewhere: nothing of this ride came near it. Only its size was "
    "used; name the file of this school.",
    severity="warning",
)
_DISAGREES: Final = Note(
    code="arena-file-disagrees",
    text="The arena file and this ride do not agree on where the school lies: only its size and "
    "its ends were used. Make the file anew with tanbark arena.",
    severity="warning",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What is told of the school beforehand.

    Attributes
    ----------
    sizes : sequence of str
        Sizes to try.
    file : KnownPose or None
        From an arena file.
    """

    sizes: tuple[Size, ...]
    file: KnownPose | None = None

    @property
    def prior_log_odds(self) -> float:
        """What having been told anything says for a school."""
        return TOLD_LOG_ODDS if len(self.sizes) == 1 else 0.0


def placed_ride(
    evidence: Evidence,
    local: Smoothed,
    clock: ClockPrior,
    wanted: Wanted,
    plane: LocalPlane,
) -> tuple[Smoothed, Placement | None, tuple[Note, ...]]:
    """The ride in the arena's frame, or as it was when no school is found in it.

    Parameters
    ----------
    evidence : Evidence
    local : Smoothed
        The ride without a school.
    clock : ClockPrior
    wanted : Wanted
    plane : LocalPlane
        Of the fixes.
    """
    fixes = evidence.fixes
    before: tuple[Note, ...] = ()
    if wanted.file is not None and is_elsewhere(wanted.file, fixes.east_m, fixes.north_m):
        wanted, before = replace(wanted, file=None), (_ELSEWHERE,)
    placed, placement, notes = _placed(evidence, local, clock, wanted, plane)
    if wanted.file is not None and placement is not None:
        off = wanted.file.off(placed.state.ride)
        if float(np.abs(off).max()) > MOST_SDS:
            again = replace(wanted, file=None)
            placed, placement, notes = _placed(evidence, local, clock, again, plane)
            before = (_DISAGREES,)
    return placed, placement, (*before, *notes)


def _placed(
    evidence: Evidence,
    local: Smoothed,
    clock: ClockPrior,
    wanted: Wanted,
    plane: LocalPlane,
) -> tuple[Smoothed, Placement | None, tuple[Note, ...]]:
    e = local.state.epochs
    ride = ridden(e[:, X], e[:, Y], e[:, PSI], e[:, V])
    if len(ride.x_m) < LEAST_MOVING:
        return local, None, (_no_school("the ride is too short"),)
    tried = poses(ride, wanted.sizes, wanted.file)
    best = tried[0]
    least = LEAST_LOG_ODDS - wanted.prior_log_odds
    rough = school_evidence(posed_state(local.state, best), best.size)
    inside_file = wanted.file is not None and rough.inside_m > LEAST_INSIDE_M
    if rough.log_odds < least - ROUGH_LOG_ODDS and not inside_file:
        return local, None, (_no_school(rough.told),)
    placed = _smoothed(evidence, local, clock, best, wanted.file)
    refined = school_evidence(posed_state(local.state, _pose_of(placed, best)), best.size)
    seen = sides_seen(placed.state, best.size, _ruler(evidence))
    sides = sum(metres >= LEAST_SIDE_M for metres in seen.values())
    told = refined.both_ways or len(wanted.sizes) == 1
    if sides < LEAST_SIDES and told and refined.log_odds >= STRONG_LOG_ODDS:
        # Rough positions show a short side as a bend: the rough pose holds what no board does.
        placed = _smoothed(evidence, local, clock, best, wanted.file, rough_m=ROUGH_POSE_M)
        sides = LEAST_SIDES
    shown = refined.log_odds >= least and sides >= LEAST_SIDES
    if not shown and not inside_file:
        why = refined.told if sides >= LEAST_SIDES else "fewer than three sides were ridden along"
        return local, None, (_no_school(why),)
    placement = _placement(placed, best, tried[1:], plane)
    placement = replace(
        placement,
        source="ride" if shown else "file",
        school_log_odds=refined.log_odds + wanted.prior_log_odds,
        because=refined.told if shown else "the arena file says so",
    )
    return placed, placement, _side_notes(seen)


def _smoothed(
    evidence: Evidence,
    local: Smoothed,
    clock: ClockPrior,
    best: Pose,
    file: KnownPose | None,
    *,
    rough_m: float = ANYWHERE_M,
) -> Smoothed:
    """The ride smoothed with the boards as a ruler, from a first pose known to some metres."""
    ruler = _ruler(evidence)

    def school(state: State) -> list[Factor]:
        known = [] if file is None else list(file.factors(state))
        return [*board_factors(state, best.size, ruler), *known]

    prior = _about(usual_prior(posed=True, clock=clock), best, rough_m)
    return smooth(
        evidence,
        posed_state(local.state, best),
        local.noise,
        prior,
        extra=school,
        steps=8,
        # A long ride's levels were taught before and would take most of the time again.
        learn=(1, 3) if len(evidence.t_s) < SHORT_EPOCHS else (),
        room=local.room,
    )


def _ruler(evidence: Evidence) -> Ruler:
    return BY_PLACES if evidence.yaw is None else BY_TURNS


def _about(prior: Prior, best: Pose, rough_m: float) -> Prior:
    """The prior with the pose kept in the neighbourhood of the first one.

    Most often far looser than any ride shows it; where no board is near it keeps the equations
    regular.
    """
    value, spread = prior.value.copy(), prior.sd.copy()
    value[[ROT, SHIFT_X, SHIFT_Y]] = best.rotation_rad, best.shift_x_m, best.shift_y_m
    spread[[ROT, SHIFT_X, SHIFT_Y]] = 0.5, rough_m, rough_m
    return replace(prior, value=value, sd=spread)


def _pose_of(placed: Smoothed, best: Pose) -> Pose:
    """The pose that the boards refined."""
    rotation, x, y = placed.state.ride[[ROT, SHIFT_X, SHIFT_Y]].tolist()
    return replace(best, rotation_rad=rotation, shift_x_m=x, shift_y_m=y)


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
