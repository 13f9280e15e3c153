"""Where on earth a ride is ridden, how its school lies and on which hand: no arena result moves."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from tests.accuracy import invented as iv
from track.follow import follow_motion
from track.path import Floats
from track.shapes import circle_of
from track.stage import Track

SLACK_M = 0.05
"""The smoother starts in east and north, so its last step ends elsewhere within this."""


@pytest.fixture(scope="module")
def truth() -> iv.Ride:
    return iv.ride("trot", np.random.default_rng(7))


@pytest.fixture(scope="module")
def at_home(truth: iv.Ride) -> Track:
    return followed(truth, iv.Pose(), mirror=False)


def followed(truth: iv.Ride, pose: iv.Pose, mirror: bool) -> Track:
    """The same ride with the same errors at another place; mirrored at its meridian or not."""
    recording, motion = iv.recorded(truth, iv.PHONE, np.random.default_rng(8), pose)
    assert motion is not None
    assert recording.fixes is not None
    if mirror:
        lon = 2 * pose.lon_deg - recording.fixes["lon_deg"]
        recording = replace(recording, fixes=recording.fixes.assign(lon_deg=lon))
        motion = replace(motion, turn_rads=-motion.turn_rads)
    return follow_motion(recording, motion)


def placed(track: Track) -> Floats:
    """Path in the arena, shape (2, epochs)."""
    assert track.path is not None
    assert track.path.frame == "arena"
    return np.stack([track.path.x_m, track.path.y_m])


POSES = st.builds(
    iv.Pose,
    lat_deg=st.floats(-65.0, 65.0),
    lon_deg=st.floats(-179.0, 179.0),
    bearing_deg=st.floats(0.0, 360.0, exclude_max=True),
)


@given(pose=POSES, mirror=st.booleans())
@example(pose=iv.Pose(lat_deg=-33.0, lon_deg=151.0, bearing_deg=262.0), mirror=False)
@example(pose=iv.Pose(), mirror=True)
@settings(max_examples=6, deadline=None)
def test_another_place_bearing_or_hand_changes_no_arena_result(
    truth: iv.Ride, at_home: Track, pose: iv.Pose, mirror: bool
) -> None:
    there = followed(truth, pose, mirror)
    home, moved = placed(at_home), placed(there)
    hand = np.array([[-1.0], [1.0]]) if mirror else np.ones((2, 1))
    # Which end is A is not known from a ride alone: the ends may have changed.
    assert min(np.abs(s * hand * moved - home).max() for s in (1, -1)) < SLACK_M
    assert at_home.path is not None
    assert there.path is not None
    for figure in (f for f in truth.figures if f.kind == "circle"):
        one = circle_of(at_home.path, figure.start_s, figure.end_s)
        other = circle_of(there.path, figure.start_s, figure.end_s)
        assert other.diameter_m.value == pytest.approx(one.diameter_m.value, abs=SLACK_M)
        assert other.diameter_m.sd == pytest.approx(one.diameter_m.sd, rel=0.05)
        assert other.out_of_round_m.value == pytest.approx(one.out_of_round_m.value, abs=SLACK_M)
