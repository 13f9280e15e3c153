"""``tanbark check``: three lines on stdout, or one line per fault and exit code 2."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from ingest.reading import read_recording
from report.check_lines import ADVICE, GOOD_HABIT, check_lines
from tests.ingest.signals import EPOCH_S, csv_text, gpx_text, invented

RIDE = invented(duration_s=150.0, rate_hz=50.0)
HEADER = ["time", "acc_x", "acc_y", "acc_z", "gyro_x", "gyro_y", "gyro_z"]


@pytest.fixture
def files(tmp_path: Path) -> list[Path]:
    gpx, motion = tmp_path / "ride.gpx", tmp_path / "motion.csv"
    gpx.write_text(gpx_text(RIDE))
    columns = [EPOCH_S + RIDE.t_s, *RIDE.accel_ms2.T, *RIDE.gyro_rads.T]
    motion.write_text(csv_text(HEADER, columns, decimals=5))
    return [gpx, motion]


def run(*arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-c", "from report.cli import main; main()", "check", *arguments],
        capture_output=True,
        text=True,
        check=False,
    )


def test_a_sound_recording(files: list[Path]) -> None:
    recorded, quality, advice = check_lines(read_recording(files))
    assert recorded == (
        "Recorded: 2 min 29 s of positions, 150 fixes, one every 1 s, with speed and course; "
        "2 min 30 s of acceleration and turn rate at 50 Hz (ride.gpx, motion.csv)."
    )
    assert quality == "Quality: nothing is missing or broken."
    assert GOOD_HABIT in advice


def test_motion_alone_and_positions_alone_say_what_is_missing(files: list[Path]) -> None:
    recorded, _, advice = check_lines(read_recording(files[1:]))
    assert "no positions" in recorded and "record positions" in advice
    recorded, _, advice = check_lines(read_recording(files[:1]))
    assert "no motion" in recorded and "accelerometer and gyroscope" in advice


def test_a_log_that_died_is_told_with_its_cure(files: list[Path]) -> None:
    lines = files[1].read_text().splitlines()
    files[1].write_text("\n".join(lines[:2500]))
    _, quality, advice = check_lines(read_recording(files))
    assert quality.startswith("Quality: the motion log stopped 99 s before")
    assert "battery saving" in advice


def test_every_line_is_one_line_and_prints_no_place(files: list[Path]) -> None:
    for line in check_lines(read_recording(files)):
        assert "\n" not in line
        assert "52.0" not in line


def test_advice_is_given_once_per_cause() -> None:
    causes = [code for codes, _ in ADVICE for code in codes]
    assert len(causes) == len(set(causes))


def test_three_lines_and_exit_0(files: list[Path]) -> None:
    done = run(*map(str, files))
    assert done.returncode == 0, done.stderr
    assert [line.split(":")[0] for line in done.stdout.splitlines()] == [
        "Recorded",
        "Quality",
        "Next time",
    ]
    assert run(*map(str, files), "--quiet").stdout == ""


def test_a_fault_is_one_line_and_exit_2(tmp_path: Path) -> None:
    done = run(str(tmp_path / "none.gpx"))
    assert done.returncode == 2 and done.stdout == ""
    assert done.stderr.splitlines() == ["tanbark: none.gpx: no such file or folder; check the name"]
    assert run().returncode == 2
