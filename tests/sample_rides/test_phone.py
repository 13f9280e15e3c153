"""The simulated phone: attitude, turn rate and specific force belong together."""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from sample_rides.phone import carry_phone
from sample_rides.scenario import Scenario
from sample_rides.schedule import RATE_HZ
from sample_rides.simulate import SimulatedRide, simulate
from sample_rides.trunk import TrunkMotion
from sample_rides.turning import about, after, from_vector, inverse, steps_rad, turned
from tests.sample_rides.parts import layout_of, parts_of

G_MS2 = 9.80665


@pytest.fixture(scope="module")
def ride() -> SimulatedRide:
    scenario = Scenario(
        noise="none",
        gyro_bias_rads=(0.0, 0.0, 0.0),
        motion_rate_hz=100.0,
        orientation_deg=(150.0, -40.0, 75.0),
    )
    return simulate(layout_of("walk and trot"), seed=5, scenario=scenario)


def to_positions_clock(ride: SimulatedRide) -> np.ndarray:
    motion = ride.recording().motion
    assert motion is not None
    return np.asarray(motion["t_s"]) - ride.truth.motion_shift_s


def test_at_a_halt_the_phone_reads_gravity(ride: SimulatedRide) -> None:
    t_s = to_positions_clock(ride)
    for bout in ride.truth.bouts:
        if bout.gait == "halt" and bout.end_s - bout.start_s > 3.0:
            inside = (t_s > bout.start_s + 0.8) & (t_s < bout.end_s - 0.8)
            size = np.linalg.norm(ride.motion.accel_ms2[inside], axis=1)
            assert np.median(size) == pytest.approx(G_MS2, abs=0.1)


def test_gyroscope_integrates_to_the_turn_of_the_line(ride: SimulatedRide) -> None:
    """From a halt, carried on by scipy's rotations, over turns and circles, in a swinging pocket.

    Heading is read off the attitude; the turn rate about the vertical does not add up to it,
    because a trunk that rolls and pitches in turn cones. Some degrees are the trunk's own yaw.
    """
    t_s = to_positions_clock(ride)
    halt = next(b for b in ride.truth.bouts if b.gait == "halt" and b.start_s > 60.0)
    first, last = np.searchsorted(t_s, [halt.end_s - 1.5, halt.end_s + 60.0])
    up = ride.motion.accel_ms2[first - 100 : first].mean(axis=0)
    start, _ = Rotation.align_vectors([[0.0, 0.0, 1.0]], [up / np.linalg.norm(up)])
    gyro = ride.motion.gyro_rads
    rates = 0.5 * (gyro[first:last] + gyro[first + 1 : last + 1])
    attitude, since_start = start, []
    for step in rates * np.diff(t_s[first : last + 1])[:, None]:
        attitude = attitude * Rotation.from_rotvec(step)
        since_start.append((attitude * start.inv()).as_matrix())
    forward = np.array(since_start)[:, :2, 0]
    turned_deg = np.degrees(np.unwrap(np.arctan2(forward[:, 1], forward[:, 0])))
    heading = np.interp(t_s[[first, last]], ride.truth.path.t_s, ride.truth.path.heading_deg)
    assert abs(heading[1] - heading[0]) > 180.0
    assert turned_deg[-20:].mean() == pytest.approx(heading[1] - heading[0], abs=10.0)


def test_tighter_and_faster_presses_harder() -> None:
    """A trunk that does not sway feels sqrt(g² + (v²/r)²), and leans atan(v²/(g r)) (mechanics).

    Trot at 3.61 m/s leans 7.6° on 20 m, canter at 3.91 m/s 8.9° (computed); a rider leans with
    all of it or a little less.
    """
    scenario = Scenario(imperfection=0.0, swing=0.0, handling=False)
    parts = parts_of("first canter", scenario)
    count = len(parts.timeline.t_s)
    still = TrunkMotion(
        moved=np.zeros((6, count)),
        rising_s=(),
        rattle_ms2=np.zeros((3, count)),
        rattle_rad=np.zeros((3, count)),
    )
    rng = np.random.default_rng(1)
    phone = carry_phone(parts.line, parts.timeline, still, scenario, slip_s=None, rng=rng)
    curvature = np.interp(parts.timeline.s_m, parts.line.s_m, parts.line.curvature_1m)
    speed = parts.timeline.speed_ms
    steady = (np.abs(curvature) > 0.1) & (np.abs(curvature) < 0.12) & (speed > 3.0)
    steady &= np.abs(np.gradient(speed) * RATE_HZ) < 0.1
    assert np.sum(steady) > 25.0 * RATE_HZ
    size = np.linalg.norm(phone.force_ms2[:, steady], axis=0)
    inward = speed[steady] ** 2 * np.abs(curvature[steady])
    np.testing.assert_allclose(size.mean(), np.hypot(G_MS2, inward).mean(), rtol=0.002)
    off_deg = np.degrees(np.arctan2(inward, G_MS2).mean())
    assert 5.0 < off_deg < 9.0
    left, right = (
        phone.force_ms2[:, steady & (np.sign(curvature) == side)].mean(axis=1)
        for side in (1.0, -1.0)
    )
    cosine = left @ right / np.linalg.norm(left) / np.linalg.norm(right)
    # A rider who stayed upright would feel the two reins pull twice the lean apart.
    assert np.degrees(np.arccos(cosine)) < off_deg


def test_quaternions_agree_with_scipy() -> None:
    rng = np.random.default_rng(1)
    first, second = (rng.normal(size=(3, 50)) for _ in range(2))
    vectors = rng.normal(size=(3, 50))
    ours = turned(after(from_vector(second), from_vector(first)), vectors)
    theirs = (Rotation.from_rotvec(second.T) * Rotation.from_rotvec(first.T)).apply(vectors.T)
    np.testing.assert_allclose(ours.T, theirs, atol=1e-12)
    angle = rng.uniform(-3.0, 3.0, 50)
    for axis, name in enumerate("xyz"):
        theirs = Rotation.from_euler(name, angle[:, None]).apply(vectors.T)
        np.testing.assert_allclose(turned(about(axis, angle), vectors).T, theirs, atol=1e-12)
    small = Rotation.from_rotvec(0.01 * first.T)
    sequence = from_vector(0.01 * first)
    step = steps_rad(sequence)
    np.testing.assert_allclose(step.T, (small[:-1].inv() * small[1:]).as_rotvec(), atol=1e-9)
    np.testing.assert_allclose(after(inverse(sequence), sequence)[0], np.ones(50), atol=1e-12)
