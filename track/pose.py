"""The ride brought into the arena's frame, with the boards as a ruler."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np

from ingest.recording import Note
from track.arena import Arena, Size
from track.boards import board_factors, sides_seen
from track.evidence import Evidence
from track.geodesy import LocalPlane
from track.path import Estimate, Floats
from track.placement import Pose, poses, ridden
from track.smoother import Prior, Smoothed, smooth, usual_prior
from track.smoother_band import Factor
from track.smoother_factors import (
    BLUR,
    BX,
    BY,
    MX,
    MY,
    OFFSET,
    PSI,
    ROT,
    SHIFT_X,
    SHIFT_Y,
    State,
    V,
    X,
    Y,
)  # fmt: skip
from track.stage import Placement, RunnerUp

LEAST_SIDE_M: Final = 4.0
"""A side has been seen when so many metres were ridden along it."""
LEAST_SIDES: Final = 3
LEAST_MOVING: Final = 60
"""Epochs of riding below which no school is looked for."""
LEAST_BLUR_SDS: Final = 2.5
"""A receiver's lag counts when its square is so many sd from nought."""
SHORT_EPOCHS: Final = 2000
DAY_ERROR_M: Final = 1.0
"""Error of a receiver that stays for a whole ride: repeats differ by 0.4-2.2 m [measured]."""


def placed_ride(
    evidence: Evidence,
    local: Smoothed,
    shift: tuple[float, float],
    sizes: tuple[Size, ...],
    plane: LocalPlane,
) -> tuple[Smoothed, Placement | None, tuple[Note, ...]]:
    """The ride in the arena's frame, or as it was when no school is found in it."""
    e = local.state.epochs
    ride = ridden(e[:, X], e[:, Y], e[:, PSI], e[:, V])
    if len(ride.x_m) < LEAST_MOVING:
        return local, None, (_no_school("the ride is too short"),)
    tried = poses(ride, sizes)
    best = tried[0]

    def boards(state: State) -> list[Factor]:
        return list(board_factors(state, best.size))

    steered = evidence.yaw is not None
    prior = usual_prior(posed=True, steered=steered, clock=shift)
    if steered:
        prior = _told_blur(prior, local)
    placed = smooth(
        evidence,
        posed_state(local.state, best),
        local.noise,
        prior,
        extra=boards,
        steps=8,
        cautious=0,
        # A long ride's levels were taught before and would take most of the time again.
        learn=(1, 3) if len(evidence.t_s) < SHORT_EPOCHS else (),
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
    value[BLUR], spread[BLUR] = 0.0, sd / 3
    return replace(prior, value=value, sd=spread)


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
