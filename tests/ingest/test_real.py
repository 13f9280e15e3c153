"""Real recordings of phones and people: all are read, and what is odd about each is told.

Source and licence of each stand in the folder's own README; expectations without another source
are that README's [seen] or common practice.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from ingest.columns import ACCEL_MS2, ACCURACY_M, COURSE_DEG, GYRO_RADS, SPEED_MS, T_S
from ingest.errors import RecordingError
from ingest.reading import ReadOptions, read_recording
from ingest.recording import Recording
from ingest.times import spacing
from tests.real_data import real_data


def codes(recording: Recording) -> set[str]:
    return {note.code for note in recording.notes}


def text_of(recording: Recording, code: str) -> str:
    return next(note.text for note in recording.notes if note.code == code)


def test_a_file_per_sensor_at_50_hz() -> None:
    recording = read_recording([real_data("phone_walk_android_50hz")])
    assert recording.fixes is not None and recording.motion is not None
    assert recording.clocks_shared and recording.gravity_included
    assert recording.sources == ("Location.csv", "TotalAcceleration.csv", "Gyroscope.csv")
    motion = recording.motion
    assert 1 / spacing(motion[T_S].to_numpy()) == pytest.approx(50.0, abs=1.0)
    still = motion[motion[T_S] < 150]
    magnitude = np.linalg.norm(still[list(ACCEL_MS2)], axis=1)
    assert magnitude.mean() == pytest.approx(9.81, abs=0.15)
    assert "order z, y, x" in text_of(recording, "axes-order")
    assert "nanoseconds, UTC" in text_of(recording, "time-epoch")
    assert "turn-rate-rads" in codes(recording)
    assert "gravity-sign" in codes(recording)  # the walk's own turns settle it
    assert "acceleration-passed-over" in codes(recording)
    assert {"fixes-wild", "fixes-frozen", "file-skipped"} <= codes(recording)
    assert motion[T_S].iloc[-1] == pytest.approx(701.2 - 1.6, abs=0.5)


def test_acceleration_without_gravity_alone_is_asked_for() -> None:
    path = real_data("phone_walk_android_50hz", "Accelerometer.csv")
    with pytest.raises(RecordingError, match="--motion-unit ms2"):
        read_recording([path])
    recording = read_recording([path], options=ReadOptions(motion_unit="ms2"))
    assert not recording.gravity_included
    assert {"gravity-out", "gyroscope-missing"} <= codes(recording)


def test_a_wide_file_in_g_with_two_clocks() -> None:
    recording = read_recording([real_data("phone_still_ios_100hz")])
    assert recording.motion is not None
    motion = recording.motion
    assert 1 / spacing(motion[T_S].to_numpy()) == pytest.approx(100.0, abs=1.0)
    magnitude = np.linalg.norm(motion[list(ACCEL_MS2)], axis=1)
    assert magnitude.mean() == pytest.approx(9.81, abs=0.15)
    assert np.abs(motion[list(GYRO_RADS)]).max().max() < 0.3
    assert {"acceleration-g", "turn-rate-rads", "time-epoch"} <= codes(recording)


def test_positions_kept_from_before_the_recording() -> None:
    recording = read_recording([real_data("phone_location_ios")])
    assert recording.fixes is not None
    fixes = recording.fixes
    assert "2 rows" in text_of(recording, "rows-before-start")
    assert "speed 3 times" in text_of(recording, "values-missing")
    assert {"fixes-wild", "fixes-frozen"} <= codes(recording)
    assert fixes[T_S].iloc[0] > 14.0  # zero is the earliest fix, which was left out
    assert (fixes[SPEED_MS].dropna() >= 0).all() and (fixes[COURSE_DEG].dropna() >= 0).all()


@pytest.mark.parametrize("name", ["fixes_2016_06_30.txt", "fixes_2016_08_22.txt"])
def test_a_header_in_a_comment_and_frozen_positions(name: str) -> None:
    recording = read_recording([real_data("phone_still_fixes", name)])
    assert recording.fixes is not None
    assert len(recording.fixes) > 200
    assert recording.fixes[ACCURACY_M].between(3.0, 4.0).all()
    share = text_of(recording, "fixes-frozen").split(" %")[0]
    assert 88 <= int(share) <= 96  # 89-96 % identical fixes [measured]
    assert "milliseconds, UTC" in text_of(recording, "time-epoch")


def test_two_phones_on_one_bicycle_are_two_recorders() -> None:
    folder = real_data("phones_on_a_route")
    with pytest.raises(RecordingError) as fault:
        read_recording([folder])
    assert "phone_1.gpx" in str(fault.value) and "phone_2.gpx" in str(fault.value)
    recording = read_recording([folder / "phone_1.gpx"])
    assert {"accuracy-from-dilution", "fix-rate-low", "fix-gaps"} <= codes(recording)


@pytest.mark.parametrize(
    ("name", "says"),
    [
        ("cerknicko-without-times.gpx", "no times"),
        ("gpx1.0_with_all_fields.gpx", "times without a zone"),
        ("track_with_dilution_errors.gpx", "no times"),
        ("unicode_with_bom.gpx", "named places but no ride"),
    ],
)
def test_gpx_files_that_are_no_ride(name: str, says: str) -> None:
    with pytest.raises(RecordingError, match=says) as fault:
        read_recording([real_data("gpx_corner_cases", name)])
    assert len(fault.value.faults) == 1


def test_gpx_files_that_are() -> None:
    folder = real_data("gpx_corner_cases")
    empty = read_recording([folder / "track-with-empty-segment.gpx"])
    assert empty.fixes is not None and len(empty.fixes) == 9
    fine = read_recording([folder / "track-with-less-sec-time.gpx"])
    assert fine.fixes is not None
    assert fine.fixes[T_S].tolist() == pytest.approx([0.0, 0.994])
    speed = read_recording([folder / "track_with_speed.gpx"])
    assert speed.fixes is not None
    assert speed.fixes[SPEED_MS].tolist() == pytest.approx([1.2, 2.2, 3.2])
    untimed = read_recording([folder / "korita-zbevnica.gpx"])
    assert untimed.waypoints is not None and len(untimed.waypoints) == 2
    assert "358 points" in text_of(untimed, "fixes-untimed")


@pytest.mark.parametrize("name", ["walk_a.csv", "walk_b.csv"])
def test_a_trunk_sensor_without_times(name: str) -> None:
    path = real_data("human_trunk", name)
    with pytest.raises(RecordingError, match="--motion-rate"):
        read_recording([path])
    recording = read_recording([path], options=ReadOptions(motion_rate_hz=100.0))
    assert {"acceleration-g", "turn-rate-degs"} <= codes(recording)
    assert recording.motion is not None
    assert np.percentile(np.abs(recording.motion[list(GYRO_RADS)].to_numpy()), 99) < 5.0


def test_no_file_of_the_folder_raises_anything_else() -> None:
    files = [path for path in sorted(real_data().rglob("*")) if path.is_file()]
    assert len(files) > 15
    read = 0
    for path in files:
        try:
            read_recording([Path(path)])
            read += 1
        except RecordingError as fault:
            assert all("\n" not in line and line for line in fault.faults)
    assert read >= 12
