"""The phone on the rider: how it hangs, swings, rattles and slips, and what its sensors read.

Three pockets: "trunk" (jacket, belt), "thigh" (a pendulum from the hip, beating once a stride in
time with one leg: half the step rate), "loose" (trunk, but the phone rattles and slides).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.signal import lfilter
from scipy.spatial.transform import Rotation
from scipy.special import expit

from tests.second_model.beats import G_MS2, swing
from tests.second_model.slow import slow_noise
from tests.second_model.truth import Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Body:
    """The rider's trunk on the simulation's grid."""

    t_s: Floats
    rate_hz: float
    heading_rad: Floats
    lean_rad: Floats
    push_ms2: Floats
    """(n, 3) acceleration forward, left, up of the trunk, gravity not in it."""
    ground_ms2: Floats
    """(n, 2) acceleration of the path, arena axes."""
    both: Floats
    signed: Floats
    first: Floats
    moving: Floats


def _scaled(signal: Floats, rms_deg: float, moving: Floats) -> Floats:
    on = moving > 0.5
    rms = float(np.sqrt(np.mean(signal[on] ** 2))) if on.any() else 1.0
    return np.asarray(signal * (np.deg2rad(rms_deg) / max(rms, 1e-9)))


def _swings(rng: np.random.Generator, body: Body, pocket: str) -> Floats:
    """Roll, pitch and yaw of the phone's pocket against the rider's mean posture, rad."""
    rate = body.rate_hz
    sizes = {"trunk": (2.0, 3.0, 2.0), "loose": (3.0, 4.0, 3.0), "thigh": (4.0, 9.0, 5.0)}[pocket]
    own = rng.uniform(1.0, 2.0, 3)
    drive = body.first if pocket == "thigh" else body.both
    roll = swing(body.signed, rate, own[0], 0.4)
    pitch = swing(drive, rate, own[1], 0.35)
    yaw = swing(0.6 * drive + body.signed, rate, own[2], 0.5)
    size = np.array(sizes) * rng.uniform(0.7, 1.4, 3)
    swung = [_scaled(s, deg, body.moving) for s, deg in zip((roll, pitch, yaw), size, strict=True)]
    tilt = [np.deg2rad(2.0) * slow_noise(rng, body.t_s, 6.0) for _ in range(2)]
    posture = np.column_stack([*tilt, np.zeros(len(body.t_s))])
    return np.asarray(np.column_stack(swung) + posture)


def _mounts(
    rng: np.random.Generator, body: Body, pocket: str
) -> tuple[Rotation, tuple[float, ...], tuple[tuple[float, float], ...]]:
    """How the phone lies in the pocket over time; slips, and handling at both ends."""
    t = body.t_s
    slips: list[float] = []
    if pocket == "loose":
        slips = sorted(rng.uniform(t[0] + 30, t[-1] - 30, rng.integers(1, 3)).tolist())
    vector = np.zeros((len(t), 3))
    for slip in slips:
        step = rng.normal(0, 0.35, 3)
        vector += step * (0.5 + 0.5 * np.tanh((t - slip) / 0.15))[:, None]
    ends = (float(t[0] + rng.uniform(3, 7)), float(t[-1] - rng.uniform(3, 7)))
    handled = ((float(t[0]), ends[0]), (ends[1], float(t[-1])))
    free = 1.2 * np.column_stack([slow_noise(rng, t, 0.8) for _ in range(3)])
    out = expit((ends[0] - t) / 0.1) + expit((t - ends[1]) / 0.1)
    mount = Rotation.random(random_state=rng)
    return (
        Rotation.from_rotvec(vector) * mount * Rotation.from_rotvec(free * out[:, None]),
        tuple(slips),
        handled,
    )


def _rattle(rng: np.random.Generator, body: Body) -> Floats:
    """Bursts of ringing after hard beats, m/s², in the phone's axes."""
    hits = (np.diff(body.both, prepend=0.0) > 0.02) & (rng.random(len(body.both)) < 0.06)
    kicks = hits[:, None] * rng.standard_t(3, size=(len(hits), 3))
    ring, decay = rng.uniform(11, 19), 0.06
    pole = np.exp((-1 / decay + 2j * np.pi * ring) / body.rate_hz)
    poles = [1.0, -2 * pole.real, abs(pole) ** 2]
    return np.asarray(lfilter([1.5], poles, kicks, axis=0))


@dataclass(frozen=True, slots=True, kw_only=True)
class Sensed:
    """Specific force and turn rate in the phone's axes on the simulation's grid."""

    accel_ms2: Floats
    gyro_rads: Floats
    moved_s: tuple[float, ...]
    handled_s: tuple[tuple[float, float], ...]


def sense(rng: np.random.Generator, body: Body, pocket: str, gravity: bool) -> Sensed:
    """What perfect sensors in that pocket feel, rattling included."""
    dt = 1 / body.rate_hz
    swings = _swings(rng, body, pocket)
    trunk = Rotation.from_euler("ZX", np.column_stack([body.heading_rad, body.lean_rad]))
    limb = trunk * Rotation.from_euler("YXZ", swings[:, [1, 0, 2]])
    mounts, moved, handled = _mounts(rng, body, pocket)
    phone = limb * mounts
    turn = (phone[:-1].inv() * phone[1:]).as_rotvec() / dt
    arm = limb.apply([0.05, 0.0, -0.25 if pocket == "thigh" else -0.05])
    level = Rotation.from_euler("z", body.heading_rad[:, None])
    world = level.apply(body.push_ms2) + np.gradient(np.gradient(arm, dt, axis=0), dt, axis=0)
    world[:, :2] += body.ground_ms2
    if gravity:
        world[:, 2] += G_MS2
    force = phone.inv().apply(world)
    if pocket == "loose":
        force += _rattle(rng, body)
    return Sensed(
        accel_ms2=force, gyro_rads=np.vstack([turn, turn[-1:]]), moved_s=moved, handled_s=handled
    )


def sampled(
    rng: np.random.Generator,
    t_s: Floats,
    values: Floats,
    at_s: Floats,
    *,
    sd: float,
    bias: float,
) -> Floats:
    """Read (n, 3) values at other times with heavy-tailed noise, a bias and a scale error."""
    read = np.column_stack([np.interp(at_s, t_s, v) for v in values.T])
    heavy = rng.standard_t(4, size=read.shape) / np.sqrt(2.0)
    scale = 1 + rng.normal(0, 0.005, 3)
    return np.asarray(read * scale + rng.normal(0, bias, 3) + sd * heavy)
