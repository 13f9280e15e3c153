"""Files of a made-up ride, read back by other libraries than our own readers."""

import gzip
import io
import json
from dataclasses import replace

import gpxpy
import numpy as np
import pandas as pd
import pytest
from geographiclib.geodesic import Geodesic

from sample_rides.scenario import Scenario
from sample_rides.sheets import demo_sheet
from sample_rides.simulate import SimulatedRide, simulate
from sample_rides.writing import BOOTED_BEFORE_S, ride_files
from track.lay_out import lay_out

SCENARIO = Scenario(
    clock_offset_s=3.5,
    receiver_delay_s=0.5,
    noise="none",
    receiver_lag_s=0.0,
    before="none",
    after=False,
)


def ride_of(scenario: Scenario) -> SimulatedRide:
    return simulate(lay_out(demo_sheet("walk and trot")), seed=7, scenario=scenario)


@pytest.fixture(scope="module")
def ride() -> SimulatedRide:
    return ride_of(SCENARIO)


@pytest.fixture(scope="module")
def files(ride: SimulatedRide) -> dict[str, bytes]:
    return ride_files(ride)


def test_gpx_is_read_by_another_parser(ride: SimulatedRide, files: dict[str, bytes]) -> None:
    parsed = gpxpy.parse(files["ride.gpx"].decode())
    points = [point for segment in parsed.tracks[0].segments for point in segment.points]
    assert len(parsed.tracks[0].segments) == 1 + int(ride.fixes.segment[-1])
    assert len(points) == len(ride.fixes.t_s)
    assert points[0].time is not None
    assert points[0].time.utcoffset() is not None
    assert points[9].latitude == pytest.approx(ride.fixes.lat_deg[9], abs=1e-8)


def test_fixes_lie_where_the_truth_says_on_the_ellipsoid(
    ride: SimulatedRide, files: dict[str, bytes]
) -> None:
    """Against geodesics (Karney, J Geod 2013;87:43, geographiclib): to 3 cm with no noise."""
    parsed = gpxpy.parse(files["ride.gpx"].decode())
    start = ride.fixes.t_s[0] + ride.scenario.start_epoch_s
    truth = ride.truth
    checked = 0
    for segment in parsed.tracks[0].segments:
        for point in segment.points[10::20]:
            assert point.time is not None
            t_s = point.time.timestamp() - start
            inverse = Geodesic.WGS84.Inverse(
                truth.arena.x_lat_deg, truth.arena.x_lon_deg, point.latitude, point.longitude
            )
            from_axis = np.radians(inverse["azi1"] - truth.arena.bearing_deg)
            x_m = inverse["s12"] * np.sin(from_axis)
            y_m = inverse["s12"] * np.cos(from_axis)
            assert x_m == pytest.approx(np.interp(t_s, truth.path.t_s, truth.path.x_m), abs=0.03)
            assert y_m == pytest.approx(np.interp(t_s, truth.path.t_s, truth.path.y_m), abs=0.03)
            checked += 1
    assert checked > 10


def test_motion_csv_is_the_recording_on_the_motion_clock(
    ride: SimulatedRide, files: dict[str, bytes]
) -> None:
    table = pd.read_csv(io.BytesIO(files["motion.csv"]))
    motion = ride.recording().motion
    assert motion is not None
    zero = ride.scenario.start_epoch_s + ride.fixes.t_s[0]
    np.testing.assert_allclose(table.iloc[:, 0] - zero, motion["t_s"], atol=2e-4)
    np.testing.assert_allclose(table.iloc[:, 1:], motion.iloc[:, 1:], atol=6e-5)
    assert ride.truth.clock_offset_s == pytest.approx(3.0)


def test_boot_clock_counts_from_boot_and_shares_no_epoch() -> None:
    ride = ride_of(replace(SCENARIO, clocks_shared=False))
    table = pd.read_csv(io.BytesIO(ride_files(ride)["motion.csv"]))
    assert table.iloc[0, 0] == pytest.approx(BOOTED_BEFORE_S, abs=0.1)
    assert ride.truth.clock_offset_s is None
    motion = ride.recording().motion
    assert motion is not None
    assert motion["t_s"].iloc[0] == 0.0


def test_zipped_files_hold_the_same_and_are_repeatable(
    ride: SimulatedRide, files: dict[str, bytes]
) -> None:
    zipped = ride_files(ride, zipped=True)
    assert {name: gzip.decompress(zipped[f"{name}.gz"]) for name in files} == files
    assert zipped == ride_files(ride, zipped=True)
    json.loads(files["truth.json"])


def test_a_ride_without_gyroscope_or_gravity_says_so_in_its_header() -> None:
    ride = ride_of(replace(SCENARIO, gyro=False, gravity=False))
    head = ride_files(ride)["motion.csv"].split(b"\n", 1)[0].decode()
    assert "turn rate" not in head
    assert "linear acceleration" in head
    gravity = ride_of(SCENARIO).motion.accel_ms2 - ride.motion.accel_ms2
    np.testing.assert_allclose(np.linalg.norm(gravity, axis=1), 9.80665, atol=0.01)
