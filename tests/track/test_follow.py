"""The whole stage on invented rides: what it finds and what it refuses."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from ingest.errors import ArenaError, RecordingError
from ingest.recording import Recording
from tests.accuracy import invented as iv
from track.arena import Arena
from track.arena_file import arena_toml, read_arena
from track.follow import follow, follow_motion, turned
from track.motion import Motion
from track.stage import Track
from track.survey import register, survey


@pytest.fixture(scope="module")
def truth() -> iv.Ride:
    return iv.ride("trot", np.random.default_rng(7))


def recorded(truth: iv.Ride) -> tuple[Recording, Motion]:
    recording, motion = iv.recorded(truth, iv.PHONE, np.random.default_rng(8))
    assert motion is not None
    return recording, motion


@pytest.fixture(scope="module")
def track(truth: iv.Ride) -> Track:
    return follow_motion(*recorded(truth))


def test_a_ride_is_placed_and_its_clocks_are_found(track: Track) -> None:
    assert track.placement is not None
    assert track.path is not None
    assert track.clock is not None
    assert track.placement.arena.size == "20x40"
    assert track.placement.ends == "unknown"
    off = (track.placement.arena.bearing_deg - 30.0 + 90.0) % 180.0 - 90.0
    assert abs(off) < 3 * track.placement.arena.bearing_sd_deg
    assert track.clock.lag_s is not None
    assert abs(track.clock.lag_s.value - iv.PHONE.lag_s) < 0.2
    assert track.clock.offset_s is not None
    assert abs(track.clock.offset_s.value - iv.PHONE.offset_s) < 0.2


def test_the_path_is_where_the_rider_was(track: Track, truth: iv.Ride) -> None:
    assert track.path is not None
    x = np.interp(track.path.t_s, truth.t_s, truth.x_m)
    y = np.interp(track.path.t_s, truth.t_s, truth.y_m)
    off = min(np.hypot(s * track.path.x_m - x, s * track.path.y_m - y).mean() for s in (1, -1))
    assert off < 1.0
    assert np.allclose(np.diff(track.path.t_s), 0.5)


def test_turning_the_ends_keeps_the_ride_and_names_the_ground(track: Track) -> None:
    other = turned(track, because="the sheet says so")
    assert other.placement is not None
    assert track.placement is not None
    assert track.path is not None
    assert other.path is not None
    assert other.placement.ends == "known"
    assert other.placement.ends_because == "the sheet says so"
    assert np.allclose(other.path.x_m, -track.path.x_m)
    change = (other.placement.arena.bearing_deg - track.placement.arena.bearing_deg) % 360
    assert change == pytest.approx(180.0)


def test_an_arena_file_gives_size_and_ends(truth: iv.Ride, tmp_path: Path) -> None:
    arena = Arena(
        size="20x40", x_lat_deg=52.0, x_lon_deg=5.0, bearing_deg=210.0, sd_m=1.0, bearing_sd_deg=1.0
    )
    file = tmp_path / "home.toml"
    file.write_text(arena_toml(arena))
    known = follow_motion(*recorded(truth), arena=read_arena(file))
    assert known.placement is not None
    assert known.placement.ends == "known"
    assert abs((known.placement.arena.bearing_deg - 210.0 + 180) % 360 - 180) < 5
    with pytest.raises(ArenaError, match="20x60"):
        follow_motion(*recorded(truth), arena=arena, size="20x60")


def test_a_bad_arena_file_is_told_line_by_line(tmp_path: Path) -> None:
    file = tmp_path / "home.toml"
    file.write_text(
        'size = "30x60"\nx_lat_deg = 95\nx_lon_deg = 5\nbearing_deg = 0\n'
        "sd_m = 0.8\nbearing_sd_deg = 0.6\n"
    )
    with pytest.raises(ArenaError) as fault:
        read_arena(file)
    assert len(fault.value.faults) == 2


def fixes_at(lat: object, lon: object, n: int) -> Recording:
    blank = np.full(n, np.nan)
    table = pd.DataFrame(
        {
            "t_s": np.arange(n, dtype=float), "lat_deg": lat, "lon_deg": lon, "accuracy_m": blank,
            "speed_ms": blank, "course_deg": blank, "segment": np.zeros(n, dtype=int),
        }
    )  # fmt: skip
    return Recording(fixes=table)


def test_fixes_that_are_all_the_same_are_refused() -> None:
    with pytest.raises(RecordingError, match="same place"):
        follow(fixes_at(np.full(200, 52.0), np.full(200, 5.0), 200))


def test_fixes_cut_to_three_decimals_are_refused(truth: iv.Ride) -> None:
    recording, _ = recorded(truth)
    assert recording.fixes is not None
    cut = recording.fixes.round({"lat_deg": 3, "lon_deg": 3})
    cut.loc[::7, "lat_deg"] += 0.001
    cut.loc[::5, "lon_deg"] += 0.002
    with pytest.raises(RecordingError, match="decimals"):
        follow(replace(recording, fixes=cut))


@pytest.mark.parametrize("seconds", [20, 400])
def test_a_straight_line_or_a_few_seconds_have_no_school(seconds: int) -> None:
    along = np.arange(seconds) * 3.3
    noise = np.random.default_rng(1).normal(size=(2, seconds)) * 1e-6
    lost = follow(fixes_at(52.0 + along / 111267 + noise[0], 5.0 + noise[1], seconds))
    assert lost.placement is None
    assert lost.path is not None
    assert lost.path.frame == "local"
    assert "no-school" in [note.code for note in lost.notes]


def test_a_hack_on_winding_ways_has_no_school() -> None:
    rng = np.random.default_rng(5)
    heading = np.cumsum(rng.normal(size=900) * 0.12)
    east, north = 3.0 * np.cumsum(np.cos(heading)), 3.0 * np.cumsum(np.sin(heading))
    lost = follow(fixes_at(52.0 + north / 111267, 5.0 + east / 68678, 900))
    assert lost.placement is None


def test_motion_alone_has_no_path(truth: iv.Ride) -> None:
    _, motion = recorded(truth)
    alone = follow_motion(Recording(), motion)
    assert alone.path is None
    assert "no-positions" in [note.code for note in alone.notes]


def test_an_arena_from_named_fixes() -> None:
    bearing = np.radians(30.0)
    places = {"K": (-10, -14), "F": (10, -14), "H": (-10, 14), "M": (10, 14)}
    rows = [
        (
            name,
            52.0 + (-x * np.sin(bearing) + y * np.cos(bearing)) / 111267.353,
            5.0 + (x * np.cos(bearing) + y * np.sin(bearing)) / 68678.016,
        )
        for name, (x, y) in places.items()
    ]
    waypoints = pd.DataFrame(rows, columns=["name", "lat_deg", "lon_deg"])
    found = survey(Recording(waypoints=waypoints))
    assert found.arena.size == "20x40"
    assert found.ends == "known"
    assert found.arena.bearing_deg == pytest.approx(30.0, abs=0.01)
    assert found.arena.x_lat_deg == pytest.approx(52.0, abs=1e-7)
    assert (found.width_m.value, found.length_m.value) == pytest.approx((20.0, 28.0 * 40 / 28))
    swapped = waypoints.assign(name=["F", "K", "M", "H"])
    with pytest.raises(ArenaError, match="wrong way"):
        survey(Recording(waypoints=swapped))


def test_rigid_registration_of_umeyama_1991() -> None:
    # (0,0)(1,0)(0,2) onto (0,0)(-1,0)(0,2): rigid, scale 1, no reflection.
    here = np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 2.0]])
    there = np.array([[0.0, 0.0], [-1.0, 0.0], [0.0, 2.0]])
    fit = register(here, there)
    assert fit.shift_m == pytest.approx([-0.980484, 0.296867], abs=1e-6)
    assert fit.mean_square_m2 == pytest.approx(0.619755, abs=1e-6)
    assert fit.mirrored_m2 == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize("seed", [0, 1, 5])
def test_an_arena_from_one_walked_lap(seed: int) -> None:
    rng = np.random.default_rng(seed)
    line = iv.Line(x=[iv.HALF_WIDTH_M], y=[0.0], speed=[1.4], gait="walk")
    iv.lap(line, 1, 1.0)
    recording, _ = iv.recorded(iv.timed(line, rng), replace(iv.PHONE, gyro=False), rng)
    found = survey(recording)
    assert found.arena.size == "20x40"
    assert found.ends == "unknown"
    off = (found.arena.bearing_deg - 30.0 + 90.0) % 180.0 - 90.0
    assert abs(off) < 2.5 * found.arena.bearing_sd_deg
    assert abs(found.length_m.value - 40.0) < 2.5 * found.length_m.sd
    one, other = survey(recording, start="A"), survey(recording, start="C")
    assert one.ends == "known"
    assert abs(one.arena.bearing_deg - other.arena.bearing_deg) == pytest.approx(180.0)
