"""What the phone in the pocket measures: specific force and turn rate in its own axes.

Everything follows from one attitude and one place in time. The place is differentiated twice, the
attitude once, so that centripetal acceleration, lean and turn rate agree by construction.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.random import Generator
from scipy.interpolate import CubicSpline
from scipy.ndimage import gaussian_filter1d
from scipy.signal import lfilter

from sample_rides.imperfections import smooth_noise
from sample_rides.ridden import RiddenLine
from sample_rides.scenario import Pocket, Scenario
from sample_rides.schedule import RATE_HZ, Timeline
from sample_rides.trunk import TrunkMotion
from sample_rides.turning import about, after, from_vector, inverse, steps_rad, turned
from track.path import Floats

GRAVITY_MS2: Final = 9.80665


@dataclass(frozen=True, slots=True, kw_only=True)
class Ways:
    """How a phone is carried in a pocket [judgement].

    Attributes
    ----------
    lever_m : (float, float, float), m
        Forward, left and up from the hips.
    own_hz, damping : float
        Of the phone as a pendulum.
    share : float
        Of the way it hangs after the trunk's acceleration.
    pitch : float
        How much the pocket pitches for one degree of the trunk's.
    """

    lever_m: tuple[float, float, float]
    own_hz: float
    damping: float
    share: float
    pitch: float


WAYS: Final[dict[Pocket, Ways]] = {
    "thigh": Ways(lever_m=(0.25, 0.20, -0.15), own_hz=2.8, damping=0.5, share=0.15, pitch=1.7),
    "jacket": Ways(lever_m=(0.10, 0.18, 0.15), own_hz=2.2, damping=0.45, share=0.22, pitch=1.0),
    "chest": Ways(lever_m=(0.12, 0.08, 0.40), own_hz=3.0, damping=0.60, share=0.08, pitch=1.0),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class PhoneMotion:
    """True motion of the phone on the simulation's clock.

    Attributes
    ----------
    t_s : array, shape (n,), s
    force_ms2 : array, shape (3, n), m/s²
        Specific force in the phone's axes, +9.81 along 'up' at rest.
    gravity_ms2 : array, shape (3, n), m/s²
        Its part that is gravity.
    turn_rads : array, shape (3, n), rad/s
    slipped_s : float or None, s
    """

    t_s: Floats
    force_ms2: Floats
    gravity_ms2: Floats
    turn_rads: Floats
    slipped_s: float | None


def carry_phone(
    line: RiddenLine,
    timeline: Timeline,
    trunk: TrunkMotion,
    scenario: Scenario,
    *,
    slip_s: float | None,
    rng: Generator,
) -> PhoneMotion:
    """Carry the phone through the ride."""
    place_m, heading_rad, lean_rad = _base(line, timeline, rng)
    moved = trunk.moved
    ways = WAYS[scenario.pocket]
    roll_rad, pitch_rad = moved[3] - lean_rad, ways.pitch * moved[4]
    level = about(2, heading_rad)
    body = after(after(level, about(2, moved[5])), after(about(1, pitch_rad), about(0, roll_rad)))
    lever = np.asarray(ways.lever_m)[:, None]
    place_m += turned(level, moved[:3]) + turned(body, lever)
    accel_ms2 = np.zeros_like(place_m)
    accel_ms2[:, 1:-1] = np.diff(place_m, n=2, axis=1) * RATE_HZ**2
    swing = _swing(turned(inverse(body), accel_ms2), scenario)
    carried = after(after(body, swing), _mount(timeline, scenario, slip_s, rng))
    world = after(carried, from_vector(trunk.rattle_rad))
    gravity = turned(inverse(world), np.array([[0.0], [0.0], [GRAVITY_MS2]]))
    step = steps_rad(world) * RATE_HZ
    return PhoneMotion(
        t_s=timeline.t_s,
        force_ms2=turned(inverse(world), accel_ms2) + gravity + trunk.rattle_ms2,
        gravity_ms2=gravity,
        turn_rads=np.hstack([step, step[:, -1:]]),
        slipped_s=slip_s,
    )


def _base(line: RiddenLine, timeline: Timeline, rng: Generator) -> tuple[Floats, Floats, Floats]:
    """Place on the ridden line, heading, and lean into the bend in time."""
    s_m = timeline.s_m
    place_m = np.stack(
        [CubicSpline(line.s_m, line.x_m)(s_m), CubicSpline(line.s_m, line.y_m)(s_m), 0.0 * s_m]
    )
    heading_rad = CubicSpline(line.s_m, line.heading_rad)(s_m)
    curvature = np.interp(s_m, line.s_m, line.curvature_1m)
    lean_rad = np.arctan(timeline.speed_ms**2 * curvature / GRAVITY_MS2)
    share = rng.uniform(0.8, 1.0)
    lean_rad = gaussian_filter1d(share * lean_rad, 0.3 * RATE_HZ)
    scatter = np.radians(1.2) * smooth_noise(len(s_m), 1 / RATE_HZ, 3.0, rng)
    return place_m, np.asarray(heading_rad), np.asarray(lean_rad + scatter)


def _swing(accel_ms2: Floats, scenario: Scenario) -> Floats:
    """The phone hangs in its pocket and follows the trunk's acceleration like a damped pendulum."""
    ways = WAYS[scenario.pocket]
    omega = 2.0 * np.pi * ways.own_hz / RATE_HZ
    loss = 2.0 * ways.damping * omega
    b, a = [0.0, omega**2], [1.0, -2.0 + loss + omega**2, 1.0 - loss]
    pull = ways.share * scenario.swing * accel_ms2[:2] / GRAVITY_MS2
    fore, side = np.clip(lfilter(b, a, pull, axis=1), -0.6, 0.6)
    return from_vector(np.stack([side, -fore, 0.2 * fore]))


def _mount(timeline: Timeline, scenario: Scenario, slip_s: float | None, rng: Generator) -> Floats:
    """The phone's axes in the trunk's: constant in the pocket, anything in the hand."""
    count = len(timeline.t_s)
    z_rad, y_rad, x_rad = np.radians(scenario.orientation_deg)[:, None]
    own = after(about(2, z_rad), after(about(1, y_rad), about(0, x_rad)))
    tilt = np.radians([[2.0], [2.0], [2.0]]) * np.array(
        [smooth_noise(count, 1 / RATE_HZ, 20.0, rng) for _ in range(3)]
    )
    if slip_s is not None:
        axis = rng.standard_normal(3)
        axis *= np.radians(rng.uniform(25.0, 60.0)) / np.linalg.norm(axis)
        tilt += axis[:, None] * _ramp(timeline.t_s, slip_s, 0.8)
    for start_s, end_s in timeline.handled_s:
        in_hand = _ramp(timeline.t_s, start_s, 1.0) - _ramp(timeline.t_s, end_s, 1.0)
        wild = np.array([smooth_noise(count, 1 / RATE_HZ, 1.5, rng) for _ in range(3)])
        tilt += 0.9 * wild * in_hand
    return after(own, from_vector(tilt))


def _ramp(t_s: Floats, at_s: float, over_s: float) -> Floats:
    x = np.clip((t_s - at_s) / over_s + 0.5, 0.0, 1.0)
    return np.asarray(x**2 * (3.0 - 2.0 * x))
