"""Accelerometer and gyroscope: which way is up, which unit, which stamps, which files."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from ingest.columns import ACCEL_MS2, GYRO_RADS, T_S
from ingest.errors import RecordingError
from ingest.reading import ReadOptions, read_recording
from ingest.recording import Recording
from tests.ingest.signals import EPOCH_S, Floats, Invented, csv_text, gpx_text, invented

RIDE = invented(duration_s=150.0)
ACC = ["acc_x", "acc_y", "acc_z"]
GYRO = ["gyro_x", "gyro_y", "gyro_z"]


def put(folder: Path, name: str, header: list[str], columns: list[Floats]) -> Path:
    path = folder / name
    path.write_text(csv_text(header, columns))
    return path


def gpx(folder: Path, ride: Invented = RIDE) -> Path:
    path = folder / "ride.gpx"
    path.write_text(gpx_text(ride))
    return path


def accel_of(recording: Recording) -> Floats:
    assert recording.motion is not None
    return recording.motion[list(ACCEL_MS2)].to_numpy()


def gyro_of(recording: Recording) -> Floats:
    assert recording.motion is not None
    return recording.motion[list(GYRO_RADS)].to_numpy()


def severities(recording: Recording) -> dict[str, str]:
    return {note.code: note.severity for note in recording.notes}


@pytest.mark.parametrize("sign", [1.0, -1.0])
@pytest.mark.parametrize("start_s", [EPOCH_S + 3.0, 50_000.0])
def test_the_path_shows_which_way_is_up(tmp_path: Path, sign: float, start_s: float) -> None:
    """Some phones read minus along 'up' at rest; only the sense of a turn can tell."""
    columns = [start_s + RIDE.t_s, *(sign * RIDE.accel_ms2).T, *RIDE.gyro_rads.T]
    log = put(tmp_path, "m.csv", ["time", *ACC, *GYRO], columns)
    recording = read_recording([gpx(tmp_path), log])
    assert recording.clocks_shared == (start_s > 1e6)
    assert "gravity-sign" in severities(recording)
    np.testing.assert_allclose(accel_of(recording), RIDE.accel_ms2, atol=1e-6)
    np.testing.assert_allclose(gyro_of(recording), RIDE.gyro_rads, atol=1e-6)


def test_the_path_shows_the_unit_where_the_phone_never_tilts(tmp_path: Path) -> None:
    level = np.tile([0.0, 0.0, 9.80665], (len(RIDE.t_s), 1))
    rng = np.random.default_rng(2)
    heading = np.unwrap(np.radians(90.0 - RIDE.course_deg))
    turn = np.gradient(np.interp(RIDE.t_s, RIDE.fix_s, heading), RIDE.t_s)
    gyro = np.column_stack([0 * turn, 0 * turn, np.degrees(turn)])
    accel = level + rng.normal(0, 0.5, level.shape)
    log = put(tmp_path, "m.csv", ["time", *ACC, *GYRO], [EPOCH_S + RIDE.t_s, *accel.T, *gyro.T])
    with pytest.raises(RecordingError, match="--motion-unit rads"):
        read_recording([log])
    recording = read_recording([gpx(tmp_path), log])
    assert "turn-rate-degs" in severities(recording)
    np.testing.assert_allclose(gyro_of(recording), np.radians(gyro), atol=1e-6)


def test_the_user_may_say_that_gravity_counts_downwards(tmp_path: Path) -> None:
    columns = [RIDE.t_s, *(-RIDE.accel_ms2).T, *RIDE.gyro_rads.T]
    log = put(tmp_path, "m.csv", ["time_s", *ACC, *GYRO], columns)
    assert "gravity-sign-taken" in severities(read_recording([log]))
    recording = read_recording([log], options=ReadOptions(motion_unit="down"))
    np.testing.assert_allclose(accel_of(recording), RIDE.accel_ms2, atol=1e-6)


def test_acceleration_with_gravity_goes_before_without(tmp_path: Path) -> None:
    free = RIDE.accel_ms2 - RIDE.gravity_ms2
    put(tmp_path, "Acceleration.csv", ["time", "x", "y", "z"], [EPOCH_S + RIDE.t_s, *free.T])
    put(tmp_path, "Total.csv", ["time", *ACC], [EPOCH_S + RIDE.t_s, *RIDE.accel_ms2.T])
    recording = read_recording([tmp_path])
    assert recording.gravity_included and recording.sources == ("Total.csv",)
    assert "acceleration-passed-over" in severities(recording)
    np.testing.assert_allclose(accel_of(recording), RIDE.accel_ms2, atol=1e-6)


def test_nameless_columns_are_told_by_what_gravity_does(tmp_path: Path) -> None:
    """Two files with nothing but x, y, z: one feels gravity, against the other it turns."""
    put(tmp_path, "a.csv", ["time", "x", "y", "z"], [EPOCH_S + RIDE.t_s, *RIDE.gyro_rads.T])
    put(tmp_path, "b.csv", ["time", "x", "y", "z"], [EPOCH_S + RIDE.t_s, *RIDE.accel_ms2.T])
    recording = read_recording([tmp_path])
    assert "gyroscope-by-content" in severities(recording)
    np.testing.assert_allclose(accel_of(recording), RIDE.accel_ms2, atol=1e-6)
    np.testing.assert_allclose(gyro_of(recording), RIDE.gyro_rads, atol=1e-6)


def test_two_motion_logs_at_once_are_refused_naming_both(tmp_path: Path) -> None:
    for name, seed in (("a.csv", 1), ("b.csv", 2)):
        ride = invented(seed=seed)
        put(tmp_path, name, ["time", *ACC], [EPOCH_S + ride.t_s, *ride.accel_ms2.T])
    with pytest.raises(RecordingError, match=r"a\.csv and b\.csv: two recorders"):
        read_recording([tmp_path])


def test_parts_of_a_motion_log_are_joined_in_order(tmp_path: Path) -> None:
    half = len(RIDE.t_s) // 2
    for name, rows in (("b.csv", slice(None, half)), ("a.csv", slice(half, None))):
        columns = [EPOCH_S + RIDE.t_s[rows], *RIDE.accel_ms2[rows].T, *RIDE.gyro_rads[rows].T]
        put(tmp_path, name, ["time", *ACC, *GYRO], columns)
    recording = read_recording([tmp_path])
    np.testing.assert_allclose(accel_of(recording), RIDE.accel_ms2, atol=1e-6)


def test_a_gyroscope_at_another_rate_is_laid_onto_the_accelerometer(tmp_path: Path) -> None:
    fast = invented(rate_hz=100.0)
    put(tmp_path, "acc.csv", ["time", *ACC], [EPOCH_S + fast.t_s[::2], *fast.accel_ms2[::2].T])
    put(tmp_path, "gyro.csv", ["time", *GYRO], [EPOCH_S + fast.t_s, *fast.gyro_rads.T])
    recording = read_recording([tmp_path])
    np.testing.assert_allclose(gyro_of(recording), fast.gyro_rads[::2], atol=1e-5)


def test_a_gyroscope_that_covers_little_is_left_out(tmp_path: Path) -> None:
    put(tmp_path, "acc.csv", ["time", *ACC], [EPOCH_S + RIDE.t_s, *RIDE.accel_ms2.T])
    rows = slice(0, len(RIDE.t_s) // 4)
    put(tmp_path, "g.csv", ["time", *GYRO], [EPOCH_S + RIDE.t_s[rows], *RIDE.gyro_rads[rows].T])
    recording = read_recording([tmp_path])
    assert severities(recording)["gyroscope-short"] == "warning"
    assert np.isnan(gyro_of(recording)).all()
    assert len(accel_of(recording)) == len(RIDE.t_s)


def test_rows_that_hold_one_sensor_at_a_time(tmp_path: Path) -> None:
    """Alternate rows: the accelerometer's leave the gyroscope blank, and the other way round."""
    ride = invented(rate_hz=50.0)
    lines = ["time,acc_x,acc_y,acc_z,gyro_x,gyro_y,gyro_z"]
    for t, a, g in zip(ride.t_s, ride.accel_ms2, ride.gyro_rads, strict=True):
        lines.append(f"{t:.4f}," + ",".join(f"{v:.8f}" for v in a) + ",,,")
        lines.append(f"{t + 0.004:.4f},,,," + ",".join(f"{v:.8f}" for v in g))
    path = tmp_path / "m.csv"
    path.write_text("\n".join(lines))
    recording = read_recording([path])
    np.testing.assert_allclose(accel_of(recording), ride.accel_ms2, atol=1e-6)
    expected = [np.interp(ride.t_s, ride.t_s + 0.004, column) for column in ride.gyro_rads.T]
    np.testing.assert_allclose(gyro_of(recording), np.column_stack(expected), atol=1e-6)


def test_bursts_are_laid_evenly(tmp_path: Path) -> None:
    """Ten samples delivered at once bear the time of the last; doubled values are no doubles."""
    ride = invented(rate_hz=50.0)
    last = np.minimum((np.arange(len(ride.t_s)) // 10) * 10 + 9, len(ride.t_s) - 1)
    columns = [ride.t_s[last], *ride.accel_ms2.T, *ride.gyro_rads.T]
    recording = read_recording([put(tmp_path, "m.csv", ["time_s", *ACC, *GYRO], columns)])
    assert "stamps-bursty" in severities(recording)
    assert recording.motion is not None
    np.testing.assert_allclose(recording.motion[T_S], ride.t_s, atol=0.003)


def test_a_clock_of_whole_seconds_is_spread_forwards(tmp_path: Path) -> None:
    ride = invented(rate_hz=50.0)
    columns = [np.floor(EPOCH_S + ride.t_s), *ride.accel_ms2.T, *ride.gyro_rads.T]
    recording = read_recording([put(tmp_path, "m.csv", ["time", *ACC, *GYRO], columns)])
    assert recording.motion is not None
    np.testing.assert_allclose(recording.motion[T_S], ride.t_s, atol=0.025)


def test_a_log_without_times_needs_its_rate(tmp_path: Path) -> None:
    count = np.arange(len(RIDE.t_s), dtype=float)
    log = put(tmp_path, "m.csv", ["sample", *ACC], [count, *RIDE.accel_ms2.T])
    with pytest.raises(RecordingError, match=r"m\.csv: only a counter .* --motion-rate"):
        read_recording([log])
    recording = read_recording([log], options=ReadOptions(motion_rate_hz=20.0))
    assert recording.motion is not None
    np.testing.assert_allclose(recording.motion[T_S], RIDE.t_s, atol=1e-9)


@pytest.mark.parametrize(
    ("said", "start_s"),
    [("2026-05-01T10:00:12Z", 12.0), ("2026-05-01T12:00:12+02:00", 12.0), ("-7.5", -7.5)],
)
def test_the_user_may_say_when_the_motion_began(tmp_path: Path, said: str, start_s: float) -> None:
    log = put(tmp_path, "m.csv", ["t", *ACC], [500.0 + RIDE.t_s, *RIDE.accel_ms2.T])
    options = ReadOptions(motion_start=said)
    recording = read_recording([gpx(tmp_path), log], options=options)
    assert recording.motion is not None and recording.clocks_shared
    assert recording.motion[T_S].iloc[0] == pytest.approx(start_s)


@pytest.mark.parametrize("said", ["noon", "2026-05-01T10:00:00"])
def test_a_start_that_is_no_instant_is_refused(tmp_path: Path, said: str) -> None:
    log = put(tmp_path, "m.csv", ["t", *ACC], [RIDE.t_s, *RIDE.accel_ms2.T])
    with pytest.raises(RecordingError, match="--motion-start"):
        read_recording([log], options=ReadOptions(motion_start=said))


def test_a_unit_that_is_none_is_refused(tmp_path: Path) -> None:
    log = put(tmp_path, "m.csv", ["t", *ACC], [RIDE.t_s, *RIDE.accel_ms2.T])
    with pytest.raises(RecordingError, match=r"--motion-unit 'furlongs'"):
        read_recording([log], options=ReadOptions(motion_unit="furlongs"))


@pytest.mark.parametrize("start_s", [1000.0, EPOCH_S + 5000.0])
def test_clocks_with_nothing_in_common_are_told(tmp_path: Path, start_s: float) -> None:
    columns = [start_s + RIDE.t_s, *RIDE.accel_ms2.T, *RIDE.gyro_rads.T]
    log = put(tmp_path, "m.csv", ["time", *ACC, *GYRO], columns)
    recording = read_recording([gpx(tmp_path), log])
    assert not recording.clocks_shared
    assert recording.motion is not None and recording.motion[T_S].iloc[0] == 0.0
    code = "clocks-apart" if start_s < 1e6 else "clocks-disagree"
    assert severities(recording)[code] == "warning"


def test_elapsed_seconds_in_one_folder_are_one_clock(tmp_path: Path) -> None:
    """Files of one export count from one start; files named one by one are taken to, and told."""
    acc = put(tmp_path, "acc.csv", ["Time (s)", *ACC], [RIDE.t_s, *RIDE.accel_ms2.T])
    gyro = put(tmp_path, "gyro.csv", ["Time (s)", *GYRO], [RIDE.t_s, *RIDE.gyro_rads.T])
    place = ["Time (s)", "Latitude (°)", "Longitude (°)", "Velocity (m/s)"]
    columns = [RIDE.fix_s, RIDE.lat_deg, RIDE.lon_deg, RIDE.speed_ms]
    put(tmp_path, "Location.csv", place, columns)
    together = read_recording([tmp_path])
    assert together.clocks_shared and "clock-elapsed-shared" not in severities(together)
    apart = read_recording([acc, gyro])
    assert severities(apart)["clock-elapsed-shared"] == "warning"
    np.testing.assert_allclose(gyro_of(apart), RIDE.gyro_rads, atol=1e-6)
