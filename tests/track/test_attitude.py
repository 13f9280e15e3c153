"""Attitude: quaternion algebra against scipy's, coning and lean against what must come out."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from track.attitude import attitude_of, integrate, multiply, rotate, shortest, steps_of
from track.path import Floats

RATE_HZ = 50.0
G = 9.80665


def _sensors(attitude: Rotation, force_world: Floats) -> tuple[Floats, Floats]:
    """Accelerometer and gyroscope of a body with these attitudes, sampled mid-interval."""
    turn = (attitude[:-2].inv() * attitude[2:]).as_rotvec() * RATE_HZ / 2
    gyro = np.vstack([turn[:1], turn, turn[-1:]])
    return attitude.inv().apply(force_world), gyro


def test_products_and_rotations_agree_with_scipy() -> None:
    rng = np.random.default_rng(1)
    a, b = Rotation.random(50, random_state=rng), Rotation.random(50, random_state=rng)
    ours = [r.as_quat(scalar_first=True).T for r in (a, b)]
    both = Rotation.from_quat(multiply(*ours).T, scalar_first=True)
    assert (both.inv() * (a * b)).magnitude().max() < 1e-12
    v = rng.normal(size=(50, 3))
    assert np.allclose(rotate(ours[0], v), a.apply(v))


def test_running_product_is_that_of_scipy_across_blocks() -> None:
    rng = np.random.default_rng(2)
    gyro = rng.normal(size=(1500, 3))
    found = integrate(steps_of(gyro, RATE_HZ))
    now = Rotation.identity()
    for mean in (gyro[1:] + gyro[:-1]) / 2:
        now = now * Rotation.from_rotvec(mean / RATE_HZ)
    last = Rotation.from_quat(found[:, -1], scalar_first=True)
    assert (last.inv() * now).magnitude() < 1e-9


def test_shortest_takes_one_vector_to_the_other() -> None:
    rng = np.random.default_rng(3)
    a, b = rng.normal(size=(2, 40, 3))
    a, b = (v / np.linalg.norm(v, axis=1)[:, None] for v in (a, b))
    assert np.allclose(rotate(shortest(a, b), a), b)


@given(st.integers(0, 10_000))
def test_coning_in_the_pocket_does_not_turn_the_rider(seed: int) -> None:
    # Roll and pitch of 10 and 6 degrees, a quarter of a stride apart: gravity's mean axis would
    # read the solid angle, π·0.175·0.105/0.75 s = 0.077 rad/s; the true turn is 0.25 rad/s.
    rng = np.random.default_rng(seed)
    t = np.arange(0, 60, 1 / RATE_HZ)
    phase = 2 * np.pi * t / 0.76
    swing = np.column_stack([0.175 * np.cos(phase), 0.105 * np.sin(phase)])
    body = Rotation.from_euler("z", 0.25 * t[:, None]) * Rotation.from_euler("xy", swing)
    phone = body * Rotation.random(random_state=rng)
    accel, gyro = _sensors(phone, np.tile([0.0, 0.0, G], (len(t), 1)))
    found = attitude_of(accel, gyro, RATE_HZ)
    inner = slice(500, -500)
    assert np.mean(found.twist_rads[inner]) == pytest.approx(0.25, abs=0.002)
    up = phone.inv().apply([0.0, 0.0, 1.0])
    assert np.degrees(np.arccos(np.sum(up * found.up, axis=1)[inner].clip(-1, 1))).max() < 0.5


def test_lean_on_a_circle_neither_tilts_the_vertical_nor_scales_the_turn() -> None:
    # Trot at 3.61 m/s on a 20 m circle leans by 7.6 degrees (facts section 4, computed).
    t = np.arange(0, 90, 1 / RATE_HZ)
    turn = 3.61 / 10.0
    heading = turn * t
    lean = np.full_like(t, -np.arctan(3.61 * turn / G))
    assert np.degrees(-lean[0]) == pytest.approx(7.6, abs=0.1)
    phone = Rotation.from_euler("ZX", np.column_stack([heading, lean]))
    inward = 3.61 * turn * np.column_stack([-np.sin(heading), np.cos(heading), 0 * t])
    accel, gyro = _sensors(phone, inward + np.array([0.0, 0.0, G]))
    found = attitude_of(accel, gyro, RATE_HZ)
    inner = slice(1500, -1500)
    assert np.mean(found.twist_rads[inner]) == pytest.approx(turn, abs=0.002)
    up = phone.inv().apply([0.0, 0.0, 1.0])
    assert np.degrees(np.arccos(np.sum(up * found.up, axis=1)[inner].clip(-1, 1))).max() < 0.7


def test_a_biased_gyroscope_does_not_carry_the_vertical_away() -> None:
    t = np.arange(0, 600, 1 / RATE_HZ)
    accel = np.tile([0.0, G * np.sin(0.4), G * np.cos(0.4)], (len(t), 1))
    gyro = np.tile([0.03, -0.02, 0.01], (len(t), 1))
    found = attitude_of(accel, gyro, RATE_HZ)
    up = np.array([0.0, np.sin(0.4), np.cos(0.4)])
    inner = slice(1000, -1000)
    assert np.degrees(np.arccos((found.up[inner] @ up).clip(-1, 1))).max() < 2.0
