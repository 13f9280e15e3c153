"""Every defect of a recording is a note with its code; what spoils numbers is left out."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from ingest.columns import ACCURACY_M, LAT_DEG, SEGMENT, T_S
from ingest.errors import RecordingError
from ingest.reading import read_recording
from ingest.recording import Recording
from ingest.streams import Bools
from tests.ingest.signals import EPOCH_S, Invented, csv_text, gpx_text, invented

RIDE = invented(duration_s=150.0, rate_hz=50.0)
HEADER = ["time", "acc_x", "acc_y", "acc_z", "gyro_x", "gyro_y", "gyro_z"]


def read(folder: Path, ride: Invented = RIDE, *, keep: Bools | None = None) -> Recording:
    rows = np.arange(len(ride.t_s)) if keep is None else np.flatnonzero(keep)
    columns = [EPOCH_S + ride.t_s[rows], *ride.accel_ms2[rows].T, *ride.gyro_rads[rows].T]
    motion = folder / "motion.csv"
    motion.write_text(csv_text(HEADER, columns, decimals=5))
    gpx = folder / "ride.gpx"
    gpx.write_text(gpx_text(ride))
    return read_recording([gpx, motion])


def severities(recording: Recording) -> dict[str, str]:
    return {note.code: note.severity for note in recording.notes}


DEFECTS = {
    "recording-short", "fix-rate-low", "fix-gaps", "fixes-wild", "fixes-jumpy", "fixes-frozen",
    "motion-rate-low", "motion-rate-fair", "motion-gaps", "motion-jitter", "motion-absurd",
    "accelerometer-clipped", "handling-cut", "log-died", "log-late", "stamps-bursty",
    "rows-unreadable", "rows-doubled", "rows-disordered", "file-cut-off", "accuracy-poor",
    "clocks-apart", "clocks-disagree", "gyroscope-missing", "gravity-out", "fixes-held",
    "fix-jitter", "log-short", "gyroscope-gaps",
}  # fmt: skip


def test_a_sound_recording_has_no_defect(tmp_path: Path) -> None:
    assert not DEFECTS & set(severities(read(tmp_path)))


def test_gaps_in_the_motion_log(tmp_path: Path) -> None:
    keep = (RIDE.t_s < 40) | (RIDE.t_s > 48)
    recording = read(tmp_path, keep=keep)
    assert severities(recording)["motion-gaps"] == "warning"
    text = next(note.text for note in recording.notes if note.code == "motion-gaps")
    assert "1 gaps" in text and "8.0 s" in text


def test_a_log_that_died(tmp_path: Path) -> None:
    recording = read(tmp_path, keep=RIDE.t_s < 70)
    assert severities(recording)["log-died"] == "warning"
    text = next(note.text for note in recording.notes if note.code == "log-died")
    assert text.startswith("The motion log stopped 79 s before")


def test_a_clipped_accelerometer(tmp_path: Path) -> None:
    """A sensor that goes to 1.6 g only."""
    loud = RIDE.gravity_ms2 + 3.0 * (RIDE.accel_ms2 - RIDE.gravity_ms2)
    assert "accelerometer-clipped" not in severities(read(tmp_path, replace(RIDE, accel_ms2=loud)))
    clipped = np.clip(loud, -15.69, 15.69)
    recording = read(tmp_path, replace(RIDE, accel_ms2=clipped))
    assert severities(recording)["accelerometer-clipped"] == "warning"


def test_a_slow_log(tmp_path: Path) -> None:
    assert severities(read(tmp_path, invented(duration_s=100.0, rate_hz=20.0)))[
        "motion-rate-low"
    ] == "warning"  # fmt: skip
    assert "motion-rate-fair" in severities(read(tmp_path, invented(duration_s=100, rate_hz=40)))


def test_unsteady_stamps(tmp_path: Path) -> None:
    rng = np.random.default_rng(4)
    t_s = np.sort(RIDE.t_s + rng.uniform(-0.015, 0.015, len(RIDE.t_s)))
    assert "motion-jitter" in severities(read(tmp_path, replace(RIDE, t_s=t_s)))


def test_numbers_no_phone_measures(tmp_path: Path) -> None:
    accel = RIDE.accel_ms2.copy()
    accel[1000:1010] = 9000.0
    recording = read(tmp_path, replace(RIDE, accel_ms2=accel))
    assert "motion-absurd" in severities(recording)
    assert recording.motion is not None
    assert len(recording.motion) == len(RIDE.t_s) - 10


@pytest.mark.parametrize("which", ["start", "end", "both"])
def test_handling_is_cut_off_and_zero_stays(tmp_path: Path, which: str) -> None:
    """Before the pocket the phone lies in a hand, screen up: gravity points elsewhere."""
    accel = RIDE.accel_ms2.copy()
    usual = accel.mean(axis=0)
    across = np.cross(usual, [1.0, 0.0, 0.0])
    hand = 9.81 * across / np.linalg.norm(across)
    rng = np.random.default_rng(6)
    for wanted, rows in (("start", RIDE.t_s < 12), ("end", RIDE.t_s > 140)):
        if which in (wanted, "both"):
            accel[rows] = hand + rng.normal(0, 0.5, (int(rows.sum()), 3))
    recording = read(tmp_path, replace(RIDE, accel_ms2=accel))
    assert severities(recording)["handling-cut"] == "info"
    assert recording.motion is not None
    first, last = recording.motion[T_S].iloc[[0, -1]]
    assert first == pytest.approx(12.5 if which in ("start", "both") else 0.0, abs=1.6)
    assert last == pytest.approx(139.5 if which in ("end", "both") else 150.0, abs=1.6)


def test_bending_down_is_not_handling(tmp_path: Path) -> None:
    accel = RIDE.accel_ms2.copy()
    across = np.cross(accel.mean(axis=0), [1.0, 0.0, 0.0])
    accel[(RIDE.t_s > 14) & (RIDE.t_s < 17)] = 9.81 * across / np.linalg.norm(across)
    assert "handling-cut" not in severities(read(tmp_path, replace(RIDE, accel_ms2=accel)))


def test_a_wild_fix_is_left_out(tmp_path: Path) -> None:
    lat = RIDE.lat_deg.copy()
    lat[[0, 1, 60]] += 0.002  # 220 m
    recording = read(tmp_path, replace(RIDE, lat_deg=lat))
    assert recording.fixes is not None
    assert len(recording.fixes) == len(lat) - 3
    assert recording.fixes[LAT_DEG].max() < RIDE.lat_deg.max() + 1e-6
    assert recording.fixes[T_S].iloc[0] == 2.0
    assert "fixes-wild" in severities(recording)


def test_positions_that_jump_all_the_time_are_kept_and_told(tmp_path: Path) -> None:
    lat = RIDE.lat_deg + np.where(np.arange(len(RIDE.lat_deg)) % 2, 0.002, 0.0)
    recording = read(tmp_path, replace(RIDE, lat_deg=lat))
    assert recording.fixes is not None and len(recording.fixes) == len(lat)
    assert severities(recording)["fixes-jumpy"] == "warning"


def test_frozen_fixes_are_told(tmp_path: Path) -> None:
    rows = np.arange(len(RIDE.fix_s))
    rows[50:60] = 50
    ride = replace(RIDE, lat_deg=RIDE.lat_deg[rows], lon_deg=RIDE.lon_deg[rows])
    found = severities(read(tmp_path, ride))
    assert found["fixes-frozen"] == "info"
    assert found["fixes-held"] == "warning"  # speed was reported all the while


def test_places_held_in_motion_are_left_out_and_those_at_a_halt_are_not(tmp_path: Path) -> None:
    rows = np.arange(len(RIDE.fix_s))
    rows[50:60] = 50
    speed = RIDE.speed_ms.copy()
    speed[50:55] = 0.0
    lat, lon = RIDE.lat_deg[rows], RIDE.lon_deg[rows]
    recording = read(tmp_path, replace(RIDE, lat_deg=lat, lon_deg=lon, speed_ms=speed))
    assert recording.fixes is not None
    kept = set(recording.fixes[T_S].round().astype(int))
    assert kept == set(range(len(rows))) - set(range(56, 60))  # 55 still has a halt before it


def test_uneven_fixes_are_told(tmp_path: Path) -> None:
    rng = np.random.default_rng(8)
    fix_s = np.sort(RIDE.fix_s + rng.uniform(-0.49, 0.49, len(RIDE.fix_s)))
    assert "fix-jitter" in severities(read(tmp_path, replace(RIDE, fix_s=fix_s)))


def test_a_gap_between_fixes_begins_a_segment(tmp_path: Path) -> None:
    keep = (RIDE.fix_s < 60) | (RIDE.fix_s > 80)
    ride = replace(
        RIDE,
        fix_s=RIDE.fix_s[keep],
        lat_deg=RIDE.lat_deg[keep],
        lon_deg=RIDE.lon_deg[keep],
        speed_ms=RIDE.speed_ms[keep],
        course_deg=RIDE.course_deg[keep],
    )
    recording = read(tmp_path, ride)
    assert severities(recording)["fix-gaps"] == "warning"
    assert recording.fixes is not None
    assert (recording.fixes[SEGMENT] == (recording.fixes[T_S] > 70)).all()


def test_poor_reported_accuracy_is_told(tmp_path: Path) -> None:
    columns = [EPOCH_S + RIDE.fix_s, RIDE.lat_deg, RIDE.lon_deg, np.full(len(RIDE.fix_s), 14.0)]
    path = tmp_path / "location.csv"
    path.write_text(csv_text(["time", "latitude", "longitude", "accuracy"], columns, decimals=8))
    found = read_recording([path])
    assert severities(found)["accuracy-poor"] == "warning"
    assert found.fixes is not None and (found.fixes[ACCURACY_M] == 14.0).all()  # on to the track


def test_a_log_that_began_late(tmp_path: Path) -> None:
    assert severities(read(tmp_path, keep=RIDE.t_s > 70))["log-late"] == "info"


def test_a_log_far_shorter_than_the_other_without_a_common_clock(tmp_path: Path) -> None:
    ride = invented(duration_s=300.0, rate_hz=50.0)
    rows = ride.t_s < 150
    columns = [77.0 + ride.t_s[rows], *ride.accel_ms2[rows].T, *ride.gyro_rads[rows].T]
    motion, gpx = tmp_path / "motion.csv", tmp_path / "ride.gpx"
    motion.write_text(csv_text(HEADER, columns, decimals=5))
    gpx.write_text(gpx_text(ride))
    recording = read_recording([gpx, motion])
    assert severities(recording)["log-short"] == "warning"
    told = {note.code: note.text for note in recording.notes}["log-short"]
    assert told.startswith("The motion log is 149 s shorter") or "150 s" in told


@pytest.mark.parametrize("lost_s", [0.0, 30.0])
def test_a_gyroscope_that_stopped_early(tmp_path: Path, lost_s: float) -> None:
    rows = RIDE.t_s <= 150.0 - lost_s
    accel, gyro = tmp_path / "acc.csv", tmp_path / "gyro.csv"
    accel.write_text(csv_text(HEADER[:4], [EPOCH_S + RIDE.t_s, *RIDE.accel_ms2.T], decimals=5))
    columns = [EPOCH_S + RIDE.t_s[rows], *RIDE.gyro_rads[rows].T]
    gyro.write_text(csv_text(["time", *HEADER[4:]], columns, decimals=5))
    recording = read_recording([accel, gyro])
    assert ("gyroscope-gaps" in severities(recording)) == (lost_s > 0)
    assert recording.motion is not None
    assert recording.motion[T_S].iloc[-1] == pytest.approx(150.0 - lost_s, abs=0.5)


def test_rare_fixes_are_told(tmp_path: Path) -> None:
    every = slice(None, None, 3)
    ride = replace(
        RIDE,
        fix_s=RIDE.fix_s[every],
        lat_deg=RIDE.lat_deg[every],
        lon_deg=RIDE.lon_deg[every],
        speed_ms=RIDE.speed_ms[every],
        course_deg=RIDE.course_deg[every],
    )
    assert severities(read(tmp_path, ride))["fix-rate-low"] == "warning"


def test_a_header_that_names_too_few_columns_is_refused(tmp_path: Path) -> None:
    """A name is missing, so that every value would stand under the wrong one."""
    path = tmp_path / "motion.csv"
    columns = [EPOCH_S + RIDE.t_s, *RIDE.accel_ms2.T, *RIDE.gyro_rads.T]
    text = csv_text(HEADER, columns).replace("acc_x,", "", 1)
    path.write_text(text)
    with pytest.raises(RecordingError, match="names 6 columns, the rows have 7"):
        read_recording([path])


def test_sixty_thousand_digits_are_no_number(tmp_path: Path) -> None:
    """The field is lost, the row's other sensor is not; and it does not take the digits' square."""
    columns = [EPOCH_S + RIDE.t_s, *RIDE.accel_ms2.T, *RIDE.gyro_rads.T]
    lines = csv_text(HEADER, columns).split("\n")
    lines[20] = lines[20].rsplit(",", 1)[0] + "," + "7" * 60_000
    path = tmp_path / "motion.csv"
    path.write_text("\n".join(lines))
    recording = read_recording([path])
    assert recording.motion is not None
    assert len(recording.motion) == len(RIDE.t_s)
    assert np.abs(recording.motion.to_numpy()).max() < 200.0


def test_rows_that_cannot_be_read_are_counted(tmp_path: Path) -> None:
    lines = csv_text(HEADER, [EPOCH_S + RIDE.t_s, *RIDE.accel_ms2.T, *RIDE.gyro_rads.T]).split("\n")
    lines[500] = "the battery is low"
    lines[900] = lines[900].replace(",", ",oops,", 1)
    lines[1200] = lines[1200].rsplit(",", 2)[0] + ",abc,1.0"
    path = tmp_path / "motion.csv"
    path.write_text("\n".join(lines))
    recording = read_recording([path])
    assert "rows-unreadable" in severities(recording)
    assert recording.motion is not None
    assert (
        len(recording.motion) == len(RIDE.t_s) - 2
    )  # a lost turn rate lies between its neighbours
    assert np.isfinite(recording.motion.to_numpy()).all()
