"""Motion on recordings of real phones and people; none of them rode a horse."""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from scipy.signal import butter, find_peaks, sosfiltfilt

from ingest.columns import MOTION_COLUMNS
from ingest.reading import read_recording
from ingest.recording import Recording
from tests.real_data import real_data
from track.clocks import align
from track.geodesy import LocalPlane
from track.motion import read_motion
from track.path import Floats


def _steps_per_second(t_s: Floats, force: Floats) -> float:
    """An independent count: peaks of the band-passed strength of the specific force."""
    rate = 1 / float(np.median(np.diff(t_s)))
    band = butter(4, [0.8, 3.0], "bandpass", fs=rate, output="sos")
    swing = sosfiltfilt(band, force - force.mean())
    peaks = find_peaks(swing, distance=round(0.35 * rate), prominence=0.3 * swing.std())[0]
    return (len(peaks) - 1) / float(t_s[peaks[-1]] - t_s[peaks[0]])


def test_a_phone_that_stands_three_minutes_and_then_walks() -> None:
    recording = read_recording([real_data("phone_walk_android_50hz")])
    motion = read_motion(recording)
    assert motion is not None
    assert recording.motion is not None
    lying = (motion.t_s > 5) & (motion.t_s < 180)
    walking = (motion.t_s > 210) & (motion.t_s < 680)
    assert motion.still[lying].all()
    assert motion.still[walking].mean() < 0.01
    assert np.abs(np.nanmean(motion.turn_rads[lying])) < 0.001

    table = recording.motion
    inside = table["t_s"].between(210, 680)
    force = np.linalg.norm(table.loc[inside, list(MOTION_COLUMNS[1:4])].to_numpy(), axis=1)
    counted = _steps_per_second(table.loc[inside, "t_s"].to_numpy(), force)
    assert np.nanmedian(motion.beat_hz[walking]) == pytest.approx(counted, rel=0.05)
    # a step is half a stride, also in a pocket that swings with one leg
    ratio = motion.stride_s[walking] * motion.beat_hz[walking]
    assert np.nanmedian(ratio) == pytest.approx(2.0, abs=0.1)


def test_one_phones_two_clocks_agree_within_its_doubt() -> None:
    # the same phone stamped both logs; what is found is the delay of its receiver
    recording = read_recording([real_data("phone_walk_android_50hz")])
    motion, fixes = read_motion(recording), recording.fixes
    assert motion is not None
    assert fixes is not None
    plane = LocalPlane(
        lat_deg=float(fixes["lat_deg"].median()), lon_deg=float(fixes["lon_deg"].median())
    )
    x_m, y_m = plane.to_plane(fixes["lat_deg"].to_numpy(), fixes["lon_deg"].to_numpy())
    clock = align(motion, fixes, x_m, y_m, clocks_shared=recording.clocks_shared)
    assert clock.offset_s is not None
    assert abs(clock.offset_s.value) < 2.0
    assert clock.offset_s.sd < 0.5


def test_a_phone_held_nearly_still_is_a_halt() -> None:
    motion = read_motion(read_recording([real_data("phone_still_ios_100hz")]))
    assert motion is not None
    assert motion.still.mean() > 0.95
    assert np.isnan(motion.beat_hz).mean() > 0.95


def _trunk(path: Path) -> Recording:
    table = pd.read_csv(path)
    accel = 9.80665 * table[["acc_x", "acc_y", "acc_z"]].to_numpy()
    gyro = np.deg2rad(table[["gyr_x", "gyr_y", "gyr_z"]].to_numpy())
    t_s = np.arange(len(table)) / 100.0
    rows = pd.DataFrame(np.column_stack([t_s, accel, gyro]), columns=list(MOTION_COLUMNS))
    return Recording(motion=rows)


@pytest.mark.parametrize("name", ["walk_a.csv", "walk_b.csv"])
def test_steps_of_two_people_against_an_independent_count(name: str) -> None:
    recording = _trunk(real_data("human_trunk", name))
    motion = read_motion(recording)
    assert motion is not None
    assert recording.motion is not None
    walking = np.isfinite(motion.beat_hz) & (motion.beat_regularity > 0.6)
    assert walking.sum() > 3 * motion.rate_hz
    times = motion.t_s[walking]
    runs = np.split(times, np.flatnonzero(np.diff(times) > 0.1) + 1)
    longest = max(runs, key=len)
    table = recording.motion
    inside = table["t_s"].between(longest[0], longest[-1])
    force = np.linalg.norm(table.loc[inside, list(MOTION_COLUMNS[1:4])].to_numpy(), axis=1)
    counted = _steps_per_second(table.loc[inside, "t_s"].to_numpy(), force)
    here = (motion.t_s >= longest[0]) & (motion.t_s <= longest[-1])
    assert np.nanmean(motion.beat_hz[here]) == pytest.approx(counted, rel=0.04)
