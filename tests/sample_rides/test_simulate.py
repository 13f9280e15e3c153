"""The simulator as a whole: repeatable, complete, and in agreement with its own truth."""

import json
from itertools import pairwise

import numpy as np
import pytest

from ingest import columns
from sample_rides.scenario import Scenario
from sample_rides.sheets import DEMO_SHEETS, demo_sheet
from sample_rides.simulate import SimulatedRide, simulate
from track.lay_out import lay_out
from track.layout import Layout

CONTRACT_KEYS = {
    "path", "bouts", "strides", "transitions", "movements", "figures", "arena",
    "clock_offset_s", "receiver_lag_s", "noise",
}  # fmt: skip


@pytest.fixture(scope="module", params=DEMO_SHEETS)
def layout(request: pytest.FixtureRequest) -> Layout:
    return lay_out(demo_sheet(request.param))


@pytest.fixture(scope="module")
def ride(layout: Layout) -> SimulatedRide:
    return simulate(layout, seed=1)


def test_same_seed_same_ride(layout: Layout, ride: SimulatedRide) -> None:
    again = simulate(layout, seed=1)
    assert again.recording().fixes is not None
    np.testing.assert_array_equal(again.motion.accel_ms2, ride.motion.accel_ms2)
    np.testing.assert_array_equal(again.fixes.lat_deg, ride.fixes.lat_deg)
    assert json.dumps(again.truth.as_json()) == json.dumps(ride.truth.as_json())


def test_another_seed_is_another_ride(layout: Layout, ride: SimulatedRide) -> None:
    other = simulate(layout, seed=2)
    assert not np.allclose(other.truth.path.x_m[:500], ride.truth.path.x_m[:500])


def test_truth_has_the_published_keys(ride: SimulatedRide) -> None:
    plain = ride.truth.as_json()
    assert set(plain) >= CONTRACT_KEYS
    assert {"t_s", "x_m", "y_m", "heading_deg"} <= set(plain["path"])
    assert {"diameter_m", "width_m", "out_of_round_m", "length_minus_width_m"} <= set(
        plain["figures"][0]
    )
    assert {"from", "to", "t_s", "placement_m"} <= set(plain["transitions"][0])
    json.dumps(plain, allow_nan=False)


def test_bouts_cover_the_ride_without_overlap(ride: SimulatedRide) -> None:
    bouts = ride.truth.bouts
    assert bouts[0].start_s == pytest.approx(ride.truth.path.t_s[0])
    for bout, following in pairwise(bouts):
        assert bout.end_s == pytest.approx(following.start_s)


def test_every_movement_with_a_ride_of_its_own_is_told_once(
    layout: Layout, ride: SimulatedRide
) -> None:
    ridden = [movement.number for movement in layout.sheet.movements if not movement.of]
    assert [movement.number for movement in ride.truth.movements] == ridden
    for movement, following in pairwise(ride.truth.movements):
        assert movement.end_s == pytest.approx(following.start_s)


def test_recording_starts_at_the_first_fix_and_holds_both_tables(ride: SimulatedRide) -> None:
    recording = ride.recording()
    assert recording.fixes is not None
    assert recording.motion is not None
    assert recording.fixes[columns.T_S].iloc[0] == 0.0
    assert np.isfinite(recording.motion[columns.ACCEL_MS2[0]]).all()


def test_line_is_kinematically_consistent(ride: SimulatedRide) -> None:
    """Speed and heading are those of the positions; no horse turns or speeds up at once."""
    path = ride.truth.path
    vx, vy = np.gradient(path.x_m, path.t_s), np.gradient(path.y_m, path.t_s)
    np.testing.assert_allclose(np.hypot(vx, vy)[2:-2], path.speed_ms[2:-2], atol=0.06)
    moving = path.speed_ms > 0.5
    course = np.unwrap(np.arctan2(vy, vx))
    off = np.degrees(np.angle(np.exp(1j * (course - np.radians(path.heading_deg)))))
    assert np.abs(off[moving]).max() < 4.0
    accel = np.gradient(path.speed_ms, path.t_s)
    assert np.abs(accel).max() < 2.0


def test_without_imperfection_or_noise_the_ideal_line_is_ridden(layout: Layout) -> None:
    calm = Scenario(imperfection=0.0, noise="none", before="none", after=False, handling=False)
    figures = simulate(layout, seed=1, scenario=calm).truth.figures
    ideal = [
        (stretch.radius_m or 0.0) * 2
        for movement in layout.movements
        for stretch in movement.stretches
        if stretch.kind == "circle"
    ]
    ridden = [figure.diameter_m for figure in figures if figure.kind == "circle"]
    np.testing.assert_allclose(ridden, ideal, atol=0.2)
