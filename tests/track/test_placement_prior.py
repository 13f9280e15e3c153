"""An arena file steers where the school lies, and is never the frame of the day."""

from dataclasses import replace

import numpy as np
import pytest

from ingest.recording import Recording
from tests.accuracy import invented as iv
from tests.accuracy.elsewhere import fixes_of
from track.arena import Arena
from track.follow import follow, follow_motion
from track.motion import Motion

HOME = Arena(
    size="20x40", x_lat_deg=52.0, x_lon_deg=5.0, bearing_deg=30.0, sd_m=0.8, bearing_sd_deg=0.6
)


@pytest.fixture(scope="module")
def recorded() -> tuple[Recording, Motion]:
    truth = iv.ride("trot", np.random.default_rng(7))
    recording, motion = iv.recorded(truth, iv.PHONE, np.random.default_rng(8))
    assert motion is not None
    return recording, motion


def test_a_file_narrows_the_pose_without_being_the_frame(
    recorded: tuple[Recording, Motion],
) -> None:
    free, known = follow_motion(*recorded), follow_motion(*recorded, arena=HOME)
    assert free.placement is not None
    assert known.placement is not None
    assert known.placement.source == "ride"
    assert known.placement.ends == "known"
    assert known.placement.arena.bearing_sd_deg < free.placement.arena.bearing_sd_deg
    assert known.placement.arena.x_lat_deg != HOME.x_lat_deg
    assert abs(known.placement.arena.bearing_deg - 30.0) < 1.5


def test_a_file_of_another_place_is_told_and_gives_no_ends(
    recorded: tuple[Recording, Motion],
) -> None:
    track = follow_motion(*recorded, arena=replace(HOME, x_lat_deg=52.1))
    assert "arena-file-elsewhere" in [note.code for note in track.notes]
    assert track.placement is not None
    assert track.placement.ends == "unknown"


def test_a_file_that_the_ride_contradicts_is_told(recorded: tuple[Recording, Motion]) -> None:
    free = follow_motion(*recorded)
    track = follow_motion(*recorded, arena=replace(HOME, bearing_deg=36.0, bearing_sd_deg=0.4))
    assert "arena-file-disagrees" in [note.code for note in track.notes]
    assert track.placement is not None
    assert free.placement is not None
    assert abs(track.placement.arena.bearing_sd_deg - free.placement.arena.bearing_sd_deg) < 0.01


def test_circles_alone_are_placed_by_the_file() -> None:
    angle = np.arange(400) * 3.3 / 9.0
    ride = fixes_of(
        9.0 * np.cos(angle), 10.0 + 9.0 * np.sin(angle), np.random.default_rng(3), bearing_deg=30.0
    )
    assert follow(ride).placement is None
    track = follow(ride, arena=HOME)
    assert track.placement is not None
    assert track.placement.source == "file"
    assert track.path is not None
    assert float(np.median(track.path.y_m)) == pytest.approx(10.0, abs=3.0)
