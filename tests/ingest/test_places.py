"""One source of positions: GPX first, the same phone fills in, two phones are refused."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from ingest.columns import ACCURACY_M, COURSE_DEG, LAT_DEG, SPEED_MS, T_S
from ingest.errors import RecordingError
from ingest.reading import read_recording
from tests.ingest.signals import EPOCH_S, Invented, csv_text, gpx_text, invented

RIDE = invented(duration_s=120.0)
HEADER = ["time", "latitude", "longitude", "speed", "bearing", "horizontalAccuracy"]


def table_text(ride: Invented = RIDE, *, shift_s: float = 0.0, start_s: float = EPOCH_S) -> str:
    accuracy = np.full(len(ride.fix_s), 4.5)
    columns = [ride.lat_deg, ride.lon_deg, ride.speed_ms, ride.course_deg, accuracy]
    return csv_text(HEADER, [start_s + ride.fix_s + shift_s, *columns])


def moved(ride: Invented, metres: float, seed: int = 5) -> Invented:
    """The same ride as another phone saw it: a slow drift of its own."""
    rng = np.random.default_rng(seed)
    phase = rng.uniform(0, 2 * np.pi)
    drift = metres * np.cos(2 * np.pi * ride.fix_s / 60.0 + phase) / 111_267.0
    return replace(ride, lat_deg=ride.lat_deg + metres / 111_267.0 + drift)


@pytest.fixture
def gpx(tmp_path: Path) -> Path:
    path = tmp_path / "ride.gpx"
    path.write_text(gpx_text(RIDE, extensions=False))
    return path


@pytest.mark.parametrize("shift_s", [0.0, 0.4, -1.0])
def test_the_same_phones_table_fills_speed_and_course(
    tmp_path: Path, gpx: Path, shift_s: float
) -> None:
    table = tmp_path / "Location.csv"
    table.write_text(table_text(shift_s=shift_s))
    recording = read_recording([table, gpx])
    fixes = recording.fixes
    assert fixes is not None and "speed-filled" in {note.code for note in recording.notes}
    assert len(fixes) == len(RIDE.fix_s)
    assert fixes[ACCURACY_M].iloc[10] == pytest.approx(4.5)
    middle = slice(3, -3)
    np.testing.assert_allclose(fixes[SPEED_MS][middle], RIDE.speed_ms[middle], atol=0.08)
    error = (fixes[COURSE_DEG] - RIDE.course_deg + 180) % 360 - 180
    assert np.abs(error[middle]).max() < 6.0
    zero = min(0.0, shift_s)
    np.testing.assert_allclose(fixes[T_S], RIDE.fix_s - zero, atol=1e-5)


@pytest.mark.parametrize("metres", [1.5, 3.0, 30.0])
def test_two_phones_at_once_are_refused_naming_both(
    tmp_path: Path, gpx: Path, metres: float
) -> None:
    table = tmp_path / "Location.csv"
    table.write_text(table_text(moved(RIDE, metres)))
    with pytest.raises(RecordingError, match=r"ride\.gpx and Location\.csv: two recorders"):
        read_recording([gpx, table])
    other = tmp_path / "other.gpx"
    other.write_text(gpx_text(moved(RIDE, metres)))
    with pytest.raises(RecordingError, match=r"two recorders") as fault:
        read_recording([gpx, other])
    assert "ride.gpx" in str(fault.value) and "other.gpx" in str(fault.value)


def test_a_copy_counts_once(tmp_path: Path, gpx: Path) -> None:
    copy = tmp_path / "copy.gpx"
    copy.write_bytes(gpx.read_bytes())
    recording = read_recording([gpx, copy])
    assert recording.fixes is not None and len(recording.fixes) == len(RIDE.fix_s)
    assert "file-doubled" in {note.code for note in recording.notes}


def test_parts_one_after_the_other_are_joined(tmp_path: Path, gpx: Path) -> None:
    later = tmp_path / "part2.gpx"
    later.write_text(gpx_text(RIDE, start_s=EPOCH_S + 300.0))
    recording = read_recording([later, gpx])
    assert recording.fixes is not None
    assert len(recording.fixes) == 2 * len(RIDE.fix_s)
    assert recording.fixes["segment"].nunique() == 2


def test_rides_of_different_days_are_refused(tmp_path: Path, gpx: Path) -> None:
    later = tmp_path / "next.gpx"
    later.write_text(gpx_text(RIDE, start_s=EPOCH_S + 86_400.0))
    with pytest.raises(RecordingError, match="days apart"):
        read_recording([gpx, later])


def test_a_table_of_another_time_is_left_out_and_told(tmp_path: Path, gpx: Path) -> None:
    table = tmp_path / "Location.csv"
    table.write_text(table_text(start_s=EPOCH_S - 5000.0))
    recording = read_recording([gpx, table])
    assert recording.fixes is not None and recording.fixes[SPEED_MS].isna().all()
    assert "positions-unused" in {note.code for note in recording.notes}
    assert recording.sources == ("ride.gpx",)


def test_below_zero_means_not_known(tmp_path: Path) -> None:
    ride = replace(RIDE, speed_ms=np.where(RIDE.fix_s < 3, -1.0, RIDE.speed_ms))
    ride = replace(ride, course_deg=np.where(RIDE.fix_s < 5, -1.0, RIDE.course_deg))
    path = tmp_path / "Location.csv"
    path.write_text(table_text(ride))
    recording = read_recording([path])
    assert recording.fixes is not None
    assert recording.fixes[SPEED_MS].isna().sum() == 3
    assert recording.fixes[COURSE_DEG].isna().sum() == 5
    assert "values-missing" in {note.code for note in recording.notes}


@pytest.mark.parametrize(
    ("factor", "header"), [(3.6, "speed"), (3.6, "speed (km/h)"), (1 / 0.514444, "speed")]
)
def test_speed_in_other_units(tmp_path: Path, factor: float, header: str) -> None:
    path = tmp_path / "Location.csv"
    ride = replace(RIDE, speed_ms=RIDE.speed_ms * factor)
    path.write_text(table_text(ride).replace(",speed,", f",{header},"))
    recording = read_recording([path])
    assert recording.fixes is not None
    np.testing.assert_allclose(recording.fixes[SPEED_MS], RIDE.speed_ms, rtol=1e-3)
    assert "speed-unit" in {note.code for note in recording.notes}


def test_speed_that_contradicts_the_fixes_is_not_used(tmp_path: Path) -> None:
    path = tmp_path / "Location.csv"
    path.write_text(table_text(replace(RIDE, speed_ms=RIDE.speed_ms * 0.0)))
    recording = read_recording([path])
    assert recording.fixes is not None and recording.fixes[SPEED_MS].isna().all()
    assert "speed-contradicts" in {note.code for note in recording.notes}


def test_fixes_repeated_on_every_row_of_a_wide_table_count_once(tmp_path: Path) -> None:
    """A fix stays on the rows until the next; one that stays longer was sent again unchanged."""
    ride = invented(duration_s=60.0)
    rows = np.searchsorted(ride.fix_s, ride.t_s, side="right") - 1
    still = np.where((rows >= 20) & (rows < 26), 20, rows)
    columns = [ride.t_s, ride.lat_deg[still], ride.lon_deg[still], *ride.accel_ms2.T]
    header = ["seconds", "lat", "lon", "acc_x", "acc_y", "acc_z"]
    path = tmp_path / "wide.csv"
    path.write_text(csv_text(["time_s", *header[1:]], columns))
    recording = read_recording([path])
    assert recording.fixes is not None and recording.motion is not None
    assert recording.clocks_shared
    assert len(recording.motion) == len(ride.t_s)
    assert abs(len(recording.fixes) - len(ride.fix_s)) <= 1
    moving = recording.fixes[recording.fixes[T_S] < 19.5]
    np.testing.assert_allclose(moving[T_S], ride.fix_s[:20], atol=0.051)
    np.testing.assert_allclose(moving[LAT_DEG], ride.lat_deg[:20], atol=1e-8)
