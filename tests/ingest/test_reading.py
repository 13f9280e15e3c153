"""Files in, one recording out: what is read, on which clock, and what is said about it."""

from __future__ import annotations

import gzip
import zipfile
from pathlib import Path

import numpy as np
import pytest

from ingest.columns import ACCEL_MS2, GYRO_RADS, SPEED_MS, T_S
from ingest.errors import RecordingError
from ingest.reading import ReadOptions, read_recording
from ingest.recording import Recording
from tests.ingest.signals import EPOCH_S, Invented, csv_text, gpx_text, invented

RIDE = invented()
WIDE = ["time_s", "acc_x", "acc_y", "acc_z", "gyro_x", "gyro_y", "gyro_z"]


def wide_text(ride: Invented = RIDE, *, start_s: float = EPOCH_S) -> str:
    return csv_text(WIDE, [start_s + ride.t_s, *ride.accel_ms2.T, *ride.gyro_rads.T])


def codes(recording: Recording) -> set[str]:
    return {note.code for note in recording.notes}


def motion_of(recording: Recording) -> np.ndarray:
    assert recording.motion is not None
    return recording.motion[[*ACCEL_MS2, *GYRO_RADS]].to_numpy()


def put(folder: Path, name: str, text: str | bytes) -> Path:
    path = folder / name
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    return path


def test_gpx_and_wide_table_share_the_epoch(tmp_path: Path) -> None:
    gpx = put(tmp_path, "ride.gpx", gpx_text(RIDE))
    table = put(tmp_path, "motion.csv", wide_text(start_s=EPOCH_S + 2.5))
    recording = read_recording([gpx, table])
    assert recording.fixes is not None and recording.motion is not None
    assert recording.clocks_shared and recording.gravity_included
    assert recording.sources == ("ride.gpx", "motion.csv")
    np.testing.assert_allclose(recording.fixes[T_S], RIDE.fix_s, atol=1e-5)
    np.testing.assert_allclose(recording.motion[T_S], RIDE.t_s + 2.5, atol=1e-5)
    np.testing.assert_allclose(recording.fixes[SPEED_MS], RIDE.speed_ms, atol=1e-3)
    np.testing.assert_allclose(
        motion_of(recording), np.hstack([RIDE.accel_ms2, RIDE.gyro_rads]), atol=1e-6
    )


def test_motion_alone_counts_from_its_first_sample(tmp_path: Path) -> None:
    recording = read_recording([put(tmp_path, "motion.csv", wide_text())])
    assert recording.fixes is None and recording.motion is not None
    assert not recording.clocks_shared
    assert recording.motion[T_S].iloc[0] == 0.0
    assert "gravity-sign-taken" in codes(recording)


def test_a_file_per_sensor_in_a_folder(tmp_path: Path) -> None:
    """The gyroscope's own stamps lie half a sample off; it is laid onto the accelerometer's."""
    ride = invented(rate_hz=100.0)
    put(
        tmp_path,
        "Accelerometer.csv",
        csv_text(["time", "z", "y", "x"], [EPOCH_S + ride.t_s, *ride.accel_ms2.T[::-1]]),
    )
    put(
        tmp_path,
        "Gyroscope.csv",
        csv_text(["time", "z", "y", "x"], [EPOCH_S + ride.t_s + 0.005, *ride.gyro_rads.T[::-1]]),
    )
    recording = read_recording([tmp_path])
    values = motion_of(recording)
    expected = np.column_stack(
        [np.interp(ride.t_s, ride.t_s + 0.005, column) for column in ride.gyro_rads.T]
    )
    np.testing.assert_allclose(values[:, :3], ride.accel_ms2, atol=1e-6)
    np.testing.assert_allclose(values[:, 3:], expected, atol=1e-4)


def test_gz_and_zip_read_as_the_plain_file(tmp_path: Path) -> None:
    plain = put(tmp_path, "motion.csv", wide_text())
    expected = motion_of(read_recording([plain]))
    zipped = put(tmp_path, "other.csv.gz", gzip.compress(plain.read_bytes()))
    np.testing.assert_array_equal(motion_of(read_recording([zipped])), expected)
    with zipfile.ZipFile(tmp_path / "ride.zip", "w") as archive:
        archive.writestr("../../evil/motion.csv", plain.read_bytes())
        archive.writestr("notes.txt", "nothing")
    recording = read_recording([tmp_path / "ride.zip"])
    np.testing.assert_array_equal(motion_of(recording), expected)
    assert recording.sources == ("motion.csv",)
    assert "file-skipped" in codes(recording)
    assert not (tmp_path.parent / "evil").exists()


@pytest.mark.parametrize("unit", ["g,degs", "g, deg/s"])
def test_the_user_may_say_the_units(tmp_path: Path, unit: str) -> None:
    text = csv_text(WIDE, [RIDE.t_s, *(RIDE.accel_ms2 / 9.80665).T, *np.degrees(RIDE.gyro_rads).T])
    path = put(tmp_path, "motion.csv", text)
    recording = read_recording([path], options=ReadOptions(motion_unit=unit))
    np.testing.assert_allclose(
        motion_of(recording), np.hstack([RIDE.accel_ms2, RIDE.gyro_rads]), atol=1e-6
    )


def test_a_named_file_that_cannot_be_read_is_one_line(tmp_path: Path) -> None:
    good = put(tmp_path, "ride.gpx", gpx_text(RIDE))
    bad = put(tmp_path, "motion.csv", "hello\nworld\n")
    with pytest.raises(RecordingError) as fault:
        read_recording([good, bad])
    assert len(fault.value.faults) == 1
    assert fault.value.faults[0].startswith("motion.csv: ")
